# Makes golden.json: the impact model of Penner 2001 (Am. J. Phys. 69:563) as
# printed, the loss of smash by a strike off the centre, and the spin axis of
# the D-plane (Jorgensen), each straight from its formula.
# Run as: Rscript golden.R > golden.json

penner <- function(v, loft, M, m, r, I = 0.4 * m * r^2) {
  t <- loft * pi / 180
  e <- 0.86 - 0.0029 * v * cos(t)
  vn <- (1 + e) * v * cos(t) / (1 + m / M)
  vp <- -v * sin(t) / (1 + m / M + m * r^2 / I)
  list(head_speed_mps = v, spin_loft_deg = loft, head_mass_kg = M, ball_mass_kg = m, ball_radius_m = r,
       restitution = e, ball_speed_mps = sqrt(vn^2 + vp^2), launch_deg = loft + atan(vp / vn) * 180 / pi,
       spin_rpm = -m * vp * r / I * 30 / pi)
}

offset <- function(b, M, I, e, m) {
  effective <- 1 / (1 / M + b^2 / I)
  list(offset_m = b, head_mass_kg = M, head_inertia_kgm2 = I, restitution = e, ball_mass_kg = m,
       smash = (1 + e) / (1 + m / effective))
}

# The face drags the back of the ball along with the club: the spin vector is
# along (club velocity) x (face normal). Axes: x to the target, y LEFT, z up.
dplane <- function(loft, attack, face, path) {
  d <- pi / 180
  n <- c(cos(loft * d) * cos(face * d), -cos(loft * d) * sin(face * d), sin(loft * d))
  v <- c(cos(attack * d) * cos(path * d), -cos(attack * d) * sin(path * d), sin(attack * d))
  w <- c(v[2] * n[3] - v[3] * n[2], v[3] * n[1] - v[1] * n[3], v[1] * n[2] - v[2] * n[1])
  w <- w / sqrt(sum(w^2))
  # Backspin points to the right (w[2] < 0); an axis whose right end is low tilts the ball right.
  list(dynamic_loft_deg = loft, attack_deg = attack, face_deg = face, path_deg = path,
       spin_loft_deg = acos(sum(n * v)) / d, axis_deg = asin(-w[3]) / d)
}

json <- function(x) paste0("    {", paste(sprintf('"%s": %.8g', names(x), unlist(x)), collapse = ", "), "}")
block <- function(name, rows) paste0('  "', name, '": [\n', paste(vapply(rows, json, ""), collapse = ",\n"), "\n  ]")
cat('{\n  "made_by": "golden.R",\n',
    block("penner", list(penner(45, 13.1, 0.2, 0.0459, 0.02135), penner(40, 25, 0.25, 0.0459, 0.02135), penner(30, 45, 0.3, 0.0459, 0.02135))), ",\n",
    block("offset", list(offset(0, 0.2, 5000e-7, 0.83, 0.0459), offset(0.02, 0.2, 5000e-7, 0.83, 0.0459))), ",\n",
    block("dplane", list(dplane(13, -1, 3, 0), dplane(13, -1, -3, 0), dplane(28, -4, 1, 4))), "\n}\n", sep = "")
