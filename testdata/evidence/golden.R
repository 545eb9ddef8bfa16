# Makes gamer.csv, candidate.csv, ten_a.csv, ten_b.csv and golden.json in this
# directory. Run here: Rscript golden.R (base R only); the tests read the files.
set.seed(811)
fmt <- function(d, f) write.csv(d, f, row.names = FALSE, quote = FALSE)
# A gamer hit first (shots 1-14) and again at the end (27-32), a candidate in
# between (15-26): lower spin, higher launch, longer, a little wider.
club <- function(position, ball, launch, spin, carry, sdDir) {
  n <- length(position)
  data.frame(position = position, ball_speed_mps = round(rnorm(n, ball, .7), 2), launch_deg = round(rnorm(n, launch, 1.1), 2),
             spin_rpm = round(rnorm(n, spin, 230)), carry_m = round(rnorm(n, carry, 6), 1), offline_m = round(rnorm(n, 1, carry * tan(sdDir * pi / 180)), 1),
             landing_deg = round(rnorm(n, 37, 1.5), 2), strike_x_m = round(rnorm(n, 0, .008), 4), strike_y_m = round(rnorm(n, .002, .006), 4))
}
g <- club(c(1:14, 27:32), 67.5, 11.4, 3050, 219, 2.4); cand <- club(15:26, 67.7, 13.1, 2480, 229, 3.6)
fmt(g, "gamer.csv"); fmt(cand, "candidate.csv")

# Two trials of ten shots with exactly the scatter matrices [360 60; 60 90] and
# [180 20; 20 80]: whitened random points times a Cholesky factor.
exact <- function(A, mean) {
  z <- scale(matrix(rnorm(20), 10), scale = FALSE)
  z <- z %*% solve(chol(crossprod(z))) %*% chol(A)
  data.frame(carry_m = sprintf("%.12f", z[, 1] + mean), offline_m = sprintf("%.12f", z[, 2]))
}
fmt(exact(matrix(c(360, 60, 60, 90), 2), 210), "ten_a.csv")
fmt(exact(matrix(c(180, 20, 20, 80), 2), 212), "ten_b.csv")

out <- list(); put <- function(name, ...) out[[name]] <<- c(...)
# A mean without order: the t statistic, its e-value, and the posterior under
# N(0, 7^2) by adaptive integration.
a <- read.csv("ten_a.csv"); b <- read.csv("ten_b.csv")
t <- t.test(b$carry_m, a$carry_m, var.equal = TRUE)
tv <- unname(t$statistic); nu <- 18; info <- 5; k <- 1 + info
put("t", tv, (1 + tv^2 / nu)^((nu + 1) / 2) / (1 + tv^2 / (k * nu))^((nu + 1) / 2) / sqrt(k))
est <- mean(b$carry_m) - mean(a$carry_m); se <- est / tv
post <- function(x) dt((x - est) / se, nu) * dnorm(x, 0, 7)
mass <- integrate(post, -60, 60, rel.tol = 1e-11)$value
put("carry", est, integrate(function(x) x * post(x), -60, 60, rel.tol = 1e-11)$value / mass, integrate(post, 0, 60, rel.tol = 1e-11)$value / mass,
    integrate(post, -3, 3, rel.tol = 1e-11)$value / mass)
# Direction: log ratio of sds, likelihood of ln F; of the changes three in four are
# small, N(0, .075^2), and one in four is large, N(0, .3^2). The e-value looks for N(0, .3^2).
dir <- function(d) atan2(d$offline_m, d$carry_m) * 180 / pi
est <- log(sd(dir(b)) / sd(dir(a)))
lik <- function(x) { l <- 2 * (est - x); df(exp(l), 9, 9) * exp(l) }
looked <- integrate(function(x) lik(x) * dnorm(x, 0, .3), -4, 4, rel.tol = 1e-11)$value
post <- function(x) lik(x) * (.75 * dnorm(x, 0, .075) + .25 * dnorm(x, 0, .3))
mass <- integrate(post, -4, 4, rel.tol = 1e-11)$value
put("direction", est, integrate(function(x) x * post(x), -4, 4, rel.tol = 1e-11)$value / mass, integrate(post, -4, 0, rel.tol = 1e-11)$value / mass, looked / lik(0))
# Carry with a level, the club and a drift held by a prior of .01 sd a shot:
# least squares with one more observation; and with a level of each run of
# shots of its own, held by a prior of .25 sd: one more for each.
model <- function(wander) {
  # As Compare takes them: warm-up (1-5) and the first two after each swap left out.
  s <- rbind(cbind(g[g$position > 5 & !g$position %in% 27:28, ], z = 0), cbind(cand[cand$position > 16, ], z = 1))
  run <- ifelse(s$z == 1, 2, ifelse(s$position < 15, 1, 3))
  m <- mean(s$position)
  X <- rbind(cbind(1, s$z, s$position - m), c(0, 0, 1 / .01)); y <- c(s$carry_m, 0)
  if (wander > 0) {
    X <- cbind(X, rbind(outer(run, 1:3, "==") + 0, 0)); X <- rbind(X, cbind(matrix(0, 3, 3), diag(3) / wander)); y <- c(y, 0, 0, 0)
  }
  fit <- lm.fit(X, y); nu <- nrow(s) - 2; s2 <- sum(fit$residuals^2) / nu
  c(fit$coefficients[2], sqrt(s2 * solve(crossprod(X))[2, 2]), nu, 1 / solve(crossprod(X))[2, 2])
}
put("drift", model(0)); put("runs", model(.25))
num <- function(v) paste0("[", paste(formatC(unname(v), digits = 15, format = "g"), collapse = ", "), "]")
cat("{\n", paste0(' "', names(out), '": ', sapply(out, num), collapse = ",\n"), "\n}\n", sep = "", file = "golden.json")
cat('{"carry": {"mean": 2.5, "sd": 4, "source": "players of this profile, heads of lower spin"}}\n', file = "prior.json")
