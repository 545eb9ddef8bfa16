# Makes driver.csv, wedges.csv, putts.csv and golden.json in this directory.
# Run here: Rscript golden.R (base R only). The tests read the files alone.
set.seed(20260)
fmt <- function(d, f) write.csv(d, f, row.names = FALSE, quote = FALSE)

# A driver trial of 24 shots with two mishits, and where they met the face.
n <- 24
z1 <- rnorm(n); z2 <- rnorm(n)
d <- data.frame(carry_m = round(221 + 6.5 * z1, 1), offline_m = round(-3 + 9 * (0.3 * z1 + sqrt(1 - 0.09) * z2), 1),
                strike_x_m = round(rnorm(n, 0.003, 0.008), 4), strike_y_m = round(rnorm(n, 0.002, 0.006), 4))
d[8, ] <- list(171.4, 24.6, 0.031, -0.012)
d[19, ] <- list(188.9, -31.2, -0.028, 0.004)
fmt(d, "driver.csv")
w <- data.frame(swing = rep(c("half", "three-quarter", "full"), each = 8),
                carry_m = round(c(rnorm(8, 48, 2.4), rnorm(8, 71, 2.9), rnorm(8, 92, 3.1)), 1), offline_m = round(rnorm(24, 0.5, 1.9), 1))
fmt(w, "wedges.csv")
p <- data.frame(start_deg = round(rnorm(12, 0.15, 0.7), 2), ball_speed_mps = round(rnorm(12, 2.5, 0.1), 3), launch_deg = round(rnorm(12, 2.1, 0.5), 2))
fmt(p, "putts.csv")

out <- list()
put <- function(name, ...) out[[name]] <<- c(...)
x <- as.matrix(d[, 1:2]); m <- colMeans(x); S <- cov(x); A <- S * (n - 1)
put("mean", m); put("scatter", A[1, 1], A[1, 2], A[2, 2])
put("mean_carry_ci", t.test(x[, 1])$conf.int)
put("sd_carry_ci", sqrt(A[1, 1] / qchisq(c(.975, .025), n - 1)))
dir <- atan2(x[, 2], x[, 1]) * 180 / pi
put("direction_sd", sd(dir), sqrt((n - 1) * var(dir) / qchisq(c(.975, .025), n - 1)))
# Vangel's modified McKay interval of a coefficient of variation.
k <- sd(x[, 1]) / m[1]; u <- qchisq(c(.975, .025), n - 1)
put("carry_sd_pct", 100 * k, 100 * k / sqrt(((u + 2) / n - 1) * k^2 + u / (n - 1)))
put("spread_ln", log(det(A)) / 2 - digamma(n - 2), trigamma(n - 2),
    log(2) + log(det(A)) / 2 - log(qchisq(c(.975, .025), 2 * n - 4)))
put("axis_spread_ln", log(A[1, 1] / 2) / 2 - digamma((n - 1) / 2) / 2, trigamma((n - 1) / 2) / 4)
for (nn in c(5, 10, 20, 30)) put(paste0("next_shot_c_", nn), 2 * (nn - 1) * (nn + 1) / (nn * (nn - 2)) * qf(.95, 2, nn - 2))
ce <- 2 * (n - 1) * (n + 1) / (n * (n - 2)) * qf(.95, 2, n - 2)
e <- eigen(S)
put("ellipse", ce, sqrt(ce * e$values), atan(e$vectors[2, 1] / e$vectors[1, 1]) * 180 / pi, pi * ce * sqrt(det(S)))
put("mean_ellipse_c", 2 * (n - 1) / (n * (n - 2)) * qf(.95, 2, n - 2))
# The elliptical radius by adaptive integration of the density over angles.
within <- function(R, s1, s2) 1 - integrate(function(t) exp(-R^2 / 2 / (s1^2 * cos(t)^2 + s2^2 * sin(t)^2)), 0, pi / 2, rel.tol = 1e-12)$value * 2 / pi
radius <- function(p, s1, s2) uniroot(function(R) within(R, s1, s2) - p, c(1e-6, 10 * s1), tol = 1e-12)$root
put("radius_1_half", radius(.5, 1, .5), radius(.95, 1, .5))
put("radius_circle", radius(.5, 1, 1), radius(.95, 1, 1))
put("radius_3_01", radius(.5, 3, .1), radius(.95, 3, .1))
c4 <- function(n) sqrt(2 / (n - 1)) * exp(lgamma(n / 2) - lgamma((n - 1) / 2))
put("c4_9_19", c4(9), c4(19))
# Odds of a miss left beyond 15 m: the unbiased share, and the exact interval from the noncentral t.
s <- sd(x[, 2]); gap <- (15 + m[2]) / s
ncp <- function(p) uniroot(function(d) pt(sqrt(n) * gap, n - 1, d) - p, c(-2, 18), tol = 1e-12)$root
put("left_15", pbeta(.5 - gap * sqrt(n) / (2 * (n - 1)), n / 2 - 1, n / 2 - 1), pnorm(-ncp(.025) / sqrt(n)), pnorm(-ncp(.975) / sqrt(n)))
put("left_15_seen", unlist(binom.test(sum(x[, 2] < -15), n)[c("estimate", "conf.int")]))
# The comparison of two scatters of ten shots.
A1 <- matrix(c(360, 60, 60, 90), 2); A2 <- matrix(c(180, 20, 20, 80), 2)
f <- (sqrt(det(A1)) / 8) / (sqrt(det(A2)) / 8)
put("compare", f, 2 * pf(f, 16, 16, lower.tail = FALSE), log(det(A2) / det(A1)) / 2, 2 * trigamma(8))
r1 <- sqrt(det(A1 + diag(c(20, 10)))); r2 <- sqrt(det(A2 + diag(c(20, 10))))
put("tighter", pf(r1 / r2, 24, 24)) # IW(4 + 9): chi-squares of 2*13 - 2 = 24 degrees
# The minimum covariance determinant over every subset of 15 of the first 20 shots.
y <- x[1:20, ]; h <- 15
subsets <- combn(20, h)
dets <- apply(subsets, 2, function(i) det(cov(y[i, ])))
best <- subsets[, which.min(dets)]
put("mcd_subset", best); put("mcd_det", min(dets))

num <- function(v) paste0("[", paste(formatC(unname(v), digits = 15, format = "g"), collapse = ", "), "]")
cat("{\n", paste0(' "', names(out), '": ', sapply(out, num), collapse = ",\n"), "\n}\n", sep = "", file = "golden.json")
