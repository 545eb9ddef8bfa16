# Makes golden.json: flights and one bounce, computed by the plainest means
# (fixed steps of 0.5 ms, right-handed axes, no code shared with the project).
# Run as: Rscript golden.R > golden.json
# The equations are those of Quintavalla 2002, Ferguson 2023 and our fit to averages (coefficients),
# US patent 6,186,002 (spin decay) and Penner 2002 (bounce).

g <- 9.80665; rho <- 1.225; m <- 0.04593; r <- 0.021335
area <- pi * r^2

models <- list(
  quintavalla = function(S, V) c(0.171 + 0.62 * S, 0.083 + 0.885 * S),
  ferguson = function(S, V) c(0.1304 + 0.9287 * S - 0.8259 * S^2, 0.0504 + 1.2031 * S - 1.149 * S^2),
  averages = function(S, V) {
    s <- min(S, 0.33); lift <- -0.0102 + 2.023 * s - 3.065 * s^2
    slow <- 1 / sqrt((V / 47.6)^2 + 0.09) - 1 / sqrt(1.09)
    c(0.2237 + 0.942 * lift^2 + 0.1908 * slow, lift * (1 + 0.4288 * slow))
  }
)

cross <- function(a, b) c(a[2] * b[3] - a[3] * b[2], a[3] * b[1] - a[1] * b[3], a[1] * b[2] - a[2] * b[1])

# Axes: x down range, y to the LEFT, z up. State: position, velocity, spin in rad/s.
flight <- function(speed, angle, rpm, tilt, model, direction = 0, wind = c(0, 0, 0), h = 5e-4) {
  a <- angle * pi / 180; d <- direction * pi / 180; t <- tilt * pi / 180
  coefficients <- models[[model]]
  axis <- c(-cos(t) * sin(d), -cos(t) * cos(d), -sin(t))
  slope <- function(s) {
    v <- s[4:6] - wind; V <- sqrt(sum(v^2)); w <- s[7]
    k <- coefficients(r * w / V, V)
    lift <- cross(axis, v); lift <- lift / sqrt(sum(lift^2))
    acc <- 0.5 * rho * area / m * V^2 * (-k[1] * v / V + k[2] * lift) - c(0, 0, g)
    c(s[4:6], acc, -2e-5 * w * V / r)
  }
  one <- function(s, h) {
    k1 <- slope(s); k2 <- slope(s + h / 2 * k1); k3 <- slope(s + h / 2 * k2); k4 <- slope(s + h * k3)
    s + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
  }
  s <- c(0, 0, 0, speed * cos(a) * cos(d), -speed * cos(a) * sin(d), speed * sin(a), rpm * pi / 30)
  time <- 0; apex <- 0
  repeat {
    n <- one(s, h)
    if (n[3] < 0) break
    apex <- max(apex, n[3]); s <- n; time <- time + h
  }
  last <- uniroot(function(q) one(s, q)[3], c(0, h), tol = 1e-13)$root
  s <- one(s, last); time <- time + last
  level <- sqrt(s[4]^2 + s[5]^2)
  list(ball_speed_mps = speed, launch_deg = angle, direction_deg = direction, spin_rpm = rpm, axis_deg = tilt,
       model = model, wind_down_range_mps = wind[1], wind_right_mps = 0 - wind[2],
       carry_m = s[1], offline_m = 0 - s[2], apex_m = apex, hang_s = time,
       landing_deg = atan2(-s[6], level) * 180 / pi, landing_speed_mps = sqrt(level^2 + s[6]^2),
       landing_spin_rpm = s[7] * 30 / pi)
}

bounce <- function(v, phi, omega) {
  tilt <- 15.4 * (v / 18.6) * (phi / 44.4)
  a <- (phi - tilt) * pi / 180
  vn <- v * cos(a); u <- v * sin(a)
  e <- if (vn <= 20) 0.510 - 0.0375 * vn + 0.000903 * vn^2 else 0.12
  need <- 2 * (u + r * omega) / (7 * (1 + e) * vn)
  rolls <- 0.40 >= need
  if (rolls) { u2 <- 5 / 7 * u - 2 / 7 * r * omega; w2 <- -u2 / r }
  else { u2 <- u - 0.40 * vn * (1 + e); w2 <- omega - 5 * 0.40 * vn * (1 + e) / (2 * r) }
  vn2 <- e * vn; t <- tilt * pi / 180
  list(speed_mps = v, from_vertical_deg = phi, spin_rad_s = omega, tilt_deg = tilt, normal_mps = vn,
       restitution = e, rolls = as.integer(rolls), along_mps = u2 * cos(t) - vn2 * sin(t), up_mps = u2 * sin(t) + vn2 * cos(t),
       spin_after_rad_s = w2)
}

json <- function(x) {
  f <- vapply(names(x), function(n) {
    v <- x[[n]]
    sprintf('"%s": %s', n, if (is.character(v)) sprintf('"%s"', v) else sprintf("%.8g", v))
  }, "")
  paste0("    {", paste(f, collapse = ", "), "}")
}

flights <- list(
  flight(70, 12, 2700, 0, "quintavalla"),
  flight(70, 12, 2700, 10, "quintavalla"),
  flight(70, 12, 2700, 0, "ferguson"),
  flight(54, 17, 6800, -6, "ferguson", direction = 2),
  flight(70, 12, 2700, -5, "ferguson", direction = 3, wind = c(-4, 3, 0)),
  flight(54, 17, 6800, -6, "averages", direction = 2),
  flight(40, 28, 9000, 4, "averages", direction = -1, wind = c(-3, 2, 0))
)
bounces <- list(bounce(18.6, 44.4, 0), bounce(18.6, 44.4, 300), bounce(22, 40, 900), bounce(26, 30, 100), bounce(15, 70, 800))
cat('{\n  "made_by": "golden.R",\n  "flights": [\n', paste(vapply(flights, json, ""), collapse = ",\n"),
    '\n  ],\n  "bounces": [\n', paste(vapply(bounces, json, ""), collapse = ",\n"), "\n  ]\n}\n", sep = "")
