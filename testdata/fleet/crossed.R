# Makes penicillin.csv, crossed.csv and crossed_golden.csv beside this script: effects
# that many players share (builds, studios) across the players' own. Run in this folder:
#   Rscript crossed.R
# It needs R with metafor and lme4 (Debian: r-cran-metafor, r-cran-lme4). The Go tests
# read only the files it wrote.
suppressPackageStartupMessages({ library(metafor); library(lme4) })
out <- data.frame(case = character(), key = character(), value = character())
put <- function(case, key, value) {
  for (i in seq_along(value))
    out[nrow(out) + 1, ] <<- list(case, if (length(value) > 1) paste0(key, ".", i) else key, sprintf("%.10g", value[i]))
}
save_csv <- function(d, file) write.csv(d, file, row.names = FALSE, quote = FALSE)
tight <- list(rel.tol = 1e-10, eval.max = 20000, iter.max = 10000)
lc <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10, maxfun = 1e6), check.conv.singular = "ignore")

# --- lme4's Penicillin: every sample on every plate ---------------------------
pe <- data.frame(diameter = Penicillin$diameter, plate = as.character(Penicillin$plate), sample = as.character(Penicillin$sample))
save_csv(pe, "penicillin.csv")
m <- lmer(diameter ~ 1 + (1 | plate) + (1 | sample), pe, control = lc)
s <- summary(m)$coefficients
put("penicillin", "estimate", s[1, 1]); put("penicillin", "se", s[1, 2]); put("penicillin", "tau2", sigma(m)^2)
put("penicillin", "reml", as.numeric(REMLcrit(m)))
put("penicillin", "sd", attr(VarCorr(m)$plate, "stddev")[[1]]); put("penicillin", "crossed", attr(VarCorr(m)$sample, "stddev")[[1]])

# --- trials: sessions with levels, builds shared by all, studios --------------
set.seed(20261127)
P <- 60; B <- 14; S <- 7
build <- data.frame(length = round(rnorm(B, 0, .8), 2), lie = round(rnorm(B, 0, 1), 2), own = rnorm(B, 0, .12))
slope <- rnorm(S, 0, .10)
tr <- do.call(rbind, lapply(1:P, function(p) {
  st <- 1 + p %% S; b <- rnorm(2, 0, .08)
  do.call(rbind, lapply(1:2, function(s) {
    n <- sample(4:7, 1); k <- sample(B, n); shots <- sample(c(6, 8, 10, 12), n, TRUE); v <- trigamma(shots - 2)
    y <- rnorm(1, -3, .4) + (.05 + b[1] + slope[st]) * build$length[k] + (-.04 + b[2]) * build$lie[k] + build$own[k] + rnorm(n, 0, sqrt(.02 + v))
    data.frame(player = paste0("p", p), session = paste0("p", p, "s", s), studio = paste0("studio", st), build = paste0("b", k), y, v,
               length = build$length[k], lie = build$lie[k])
  }))
}))
tr[c("y", "v")] <- lapply(tr[c("y", "v")], function(x) as.numeric(sprintf("%.8f", x)))
save_csv(tr, "crossed.csv")
tr$row <- seq_len(nrow(tr))

# metafor: builds across players' slopes.
f <- ~ length + lie + factor(session) - 1
m <- rma.mv(y, v, mods = f, random = list(~ 1 | row, ~ 1 | build, ~ 0 + length + lie | player), struct = "GDIAG", data = tr, control = tight)
k <- match(c("length", "lie"), rownames(m$beta))
put("builds", "estimate", unname(coef(m))[k]); put("builds", "se", m$se[k]); put("builds", "loglik", as.numeric(logLik(m)))
put("builds", "tau2", m$sigma2[1]); put("builds", "crossed", sqrt(m$sigma2[2])); put("builds", "sd", unname(sqrt(m$tau2)))

# Builds and studios' slopes of length: the restricted likelihood written down with
# whole matrices and searched by nlminb.
X <- model.matrix(f, tr); ind <- function(g) outer(as.character(g), as.character(g), "==") * 1
K <- list(diag(nrow(tr)), ind(tr$player) * outer(tr$length, tr$length), ind(tr$player) * outer(tr$lie, tr$lie), ind(tr$build),
          ind(tr$studio) * outer(tr$length, tr$length))
fit <- function(theta) {
  V <- diag(tr$v); for (i in seq_along(K)) V <- V + theta[i] * K[[i]]
  R <- chol(V); Xs <- backsolve(R, X, transpose = TRUE); ys <- backsolve(R, tr$y, transpose = TRUE)
  C <- chol2inv(chol(crossprod(Xs))); b <- C %*% crossprod(Xs, ys)
  list(n2 = 2 * sum(log(diag(R))) - determinant(C)$modulus + sum((ys - Xs %*% b)^2), b = b, se = sqrt(diag(C)))
}
o <- nlminb(rep(.02, 5), function(t) fit(t)$n2, lower = 0, control = list(rel.tol = 1e-14, eval.max = 5000, iter.max = 5000))
m <- fit(o$par); k <- match(c("length", "lie"), colnames(X))
put("studios", "estimate", m$b[k]); put("studios", "se", m$se[k]); put("studios", "reml", m$n2 + (nrow(X) - ncol(X)) * log(2 * pi))
put("studios", "tau2", o$par[1]); put("studios", "sd", sqrt(o$par[2:3])); put("studios", "crossed", sqrt(o$par[4:5]))
write.csv(out, "crossed_golden.csv", row.names = FALSE, quote = FALSE)
