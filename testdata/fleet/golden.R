# Makes the CSV files and golden.csv beside this script. Run in this folder:
#   Rscript golden.R
# It needs R with metafor, metadat and lme4 (Debian: r-cran-metafor,
# r-cran-metadat, r-cran-lme4). The Go tests read only the files it wrote.
suppressPackageStartupMessages({ library(metafor); library(metadat); library(lme4) })
out <- data.frame(case = character(), key = character(), value = character())
put <- function(case, key, value) {
  for (i in seq_along(value))
    out[nrow(out) + 1, ] <<- list(case, if (length(value) > 1) paste0(key, ".", i) else key, sprintf("%.10g", value[i]))
}
save_csv <- function(d, file) write.csv(d, file, row.names = FALSE, quote = FALSE)
# What the Go test compares for a metafor fit: keep = the named terms, in order.
mf <- function(case, m, keep = seq_along(coef(m)), fits = TRUE) {
  put(case, "estimate", unname(coef(m))[keep]); put(case, "se", m$se[keep]); put(case, "p", m$pval[keep])
  put(case, "ci_low", m$ci.lb[keep]); put(case, "ci_high", m$ci.ub[keep])
  if (fits) put(case, "loglik", as.numeric(logLik(m)))
}
tight <- list(rel.tol = 1e-10, eval.max = 20000, iter.max = 10000)

# --- dat.bcg: one row a study --------------------------------------------
bcg <- escalc(measure = "RR", ai = tpos, bi = tneg, ci = cpos, di = cneg, data = dat.bcg)
bcg <- data.frame(trial = bcg$trial, yi = as.numeric(bcg$yi), vi = as.numeric(bcg$vi), ablat = bcg$ablat, year = bcg$year)
save_csv(bcg, "bcg.csv")
ctl <- list(threshold = 1e-12, maxiter = 10000)
m <- rma(yi, vi, data = bcg, control = ctl); mf("bcg", m); put("bcg", "tau2", m$tau2)
pr <- predict(m); put("bcg", "pi_low", pr$pi.lb); put("bcg", "pi_high", pr$pi.ub)
m <- rma(yi, vi, data = bcg, test = "knha", control = ctl); mf("bcg-knha", m); put("bcg-knha", "tau2", m$tau2)
m <- rma(yi, vi, mods = ~ ablat, data = bcg, control = ctl); mf("bcg-ablat", m); put("bcg-ablat", "tau2", m$tau2)
m <- rma(yi, vi, mods = ~ ablat + year, data = bcg, test = "adhoc", control = ctl); mf("bcg-two-adhoc", m); put("bcg-two-adhoc", "tau2", m$tau2)

# --- dat.bangertdrowns2004: moderators, missing values, tau2 near a boundary
bd <- with(dat.bangertdrowns2004, data.frame(study = id, yi, vi, length, feedback, info))
save_csv(bd, "bangertdrowns.csv")
m <- suppressWarnings(rma(yi, vi, mods = ~ length + feedback + length:feedback, data = bd, control = ctl))
mf("bangertdrowns", m); put("bangertdrowns", "tau2", m$tau2); put("bangertdrowns", "k", m$k)

# --- dat.konstantopoulos2011: schools in districts --------------------------
ko <- with(dat.konstantopoulos2011, data.frame(district, school, yi, vi, year = year - 1990))
save_csv(ko, "konstantopoulos.csv")
m <- rma.mv(yi, vi, mods = ~ year, random = list(~ 1 | school, ~ 1 | district),
            data = transform(ko, school = seq_len(nrow(ko))), control = tight)
mf("konstantopoulos", m); put("konstantopoulos", "tau2", m$sigma2[1]); put("konstantopoulos", "sd", sqrt(m$sigma2[2]))

# --- sleepstudy and friends: no known variance, lme4 -------------------------
l4 <- function(case, m) {
  s <- summary(m)$coefficients
  put(case, "estimate", unname(s[, 1])); put(case, "se", unname(s[, 2]))
  put(case, "tau2", sigma(m)^2); put(case, "reml", as.numeric(REMLcrit(m)))
}
lc <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10, maxfun = 1e6), check.conv.singular = "ignore")
save_csv(data.frame(Reaction = sleepstudy$Reaction, Days = sleepstudy$Days, Subject = sleepstudy$Subject), "sleepstudy.csv")
m <- lmer(Reaction ~ Days + (Days | Subject), sleepstudy, control = lc); l4("sleep-full", m)
v <- VarCorr(m)$Subject; put("sleep-full", "sd", unname(attr(v, "stddev"))); put("sleep-full", "cor", attr(v, "correlation")[2, 1])
re <- ranef(m, condVar = TRUE)$Subject; put("sleep-full", "blup308", c(re["308", 1], re["308", 2]))
m <- lmer(Reaction ~ Days + (1 | Subject) + (0 + Days | Subject), sleepstudy, control = lc); l4("sleep-diag", m)
put("sleep-diag", "sd", unname(c(attr(VarCorr(m)[[1]], "stddev"), attr(VarCorr(m)[[2]], "stddev"))))
m <- lmer(Reaction ~ Days + (1 | Subject), sleepstudy, control = lc); l4("sleep-intercept", m)
put("sleep-intercept", "sd", unname(attr(VarCorr(m)[[1]], "stddev")))
cw <- data.frame(weight = ChickWeight$weight, Time = ChickWeight$Time, d3 = as.integer(ChickWeight$Diet == 3), Chick = as.character(ChickWeight$Chick))
save_csv(cw, "chickweight.csv")
m <- lmer(weight ~ Time + Time:d3 + (1 | Chick) + (0 + Time | Chick), cw, control = lc); l4("chick", m)
put("chick", "sd", unname(c(attr(VarCorr(m)[[1]], "stddev"), attr(VarCorr(m)[[2]], "stddev"))))

# --- simulated trials: sessions, attributes, traits, known variances ---------
set.seed(20240611)
P <- 50
tr <- do.call(rbind, lapply(1:P, function(p) {
  speed <- rnorm(1, 0, 1); e <- rnorm(2); b <- c(.12 * e[1], .10 * (.4 * e[1] + .9165 * e[2]))
  do.call(rbind, lapply(1:(1 + p %% 2), function(s) {
    n <- sample(5:8, 1); level <- rnorm(1, -3, .4); shots <- sample(c(6, 8, 10, 12), n, TRUE)
    length <- sample(c(0, 0, .0127, -.0127, .0254), n, TRUE) * 100; lie <- sample(c(0, 0, 1, -1, 2), n, TRUE)
    order <- seq_len(n) - 1; v <- trigamma(shots - 2)
    y <- level + (.05 + .04 * speed + b[1]) * length + (-.03 + b[2]) * lie - .02 * order + rnorm(n, 0, sqrt(.03 + v))
    data.frame(player = paste0("p", p), session = paste0("p", p, "s", s), y, v, length, lie, order, speed)
  }))
}))
tr[c("y", "v", "speed")] <- lapply(tr[c("y", "v", "speed")], function(x) as.numeric(sprintf("%.8f", x)))
save_csv(tr, "trials.csv")
tr$row <- seq_len(nrow(tr))
f <- ~ length + lie + order + length:speed + factor(session) - 1
ord <- function(m) match(c("length", "lie", "order", "length:speed"), rownames(m$beta))
m <- rma.mv(y, v, mods = f, random = ~ 1 | row, data = tr, control = tight)
mf("trials-level", m, ord(m)); put("trials-level", "tau2", m$sigma2)
m <- rma.mv(y, v, mods = f, random = list(~ 1 | row, ~ 0 + length + lie | player), struct = "GDIAG", data = tr, control = tight)
mf("trials-level-diag", m, ord(m)); put("trials-level-diag", "tau2", m$sigma2); put("trials-level-diag", "sd", unname(sqrt(m$tau2)))
m <- rma.mv(y, v, mods = f, random = list(~ 1 | row, ~ 0 + length + lie | player), struct = "GEN", data = tr, control = tight)
mf("trials-level-full", m, ord(m)); put("trials-level-full", "tau2", m$sigma2); put("trials-level-full", "sd", unname(sqrt(m$tau2))); put("trials-level-full", "cor", m$rho)
m <- rma.mv(y, v, mods = ~ length + lie + order + length:speed, random = list(~ 1 | row, ~ 1 + length + lie | player), struct = "GEN", data = tr, control = tight)
mf("trials-full3", m); put("trials-full3", "tau2", m$sigma2); put("trials-full3", "sd", unname(sqrt(m$tau2)))
put("trials-full3", "cor", c(m$G[2, 1] / sqrt(m$G[1, 1] * m$G[2, 2]), m$G[3, 1] / sqrt(m$G[1, 1] * m$G[3, 3]), m$G[3, 2] / sqrt(m$G[2, 2] * m$G[3, 3])))
m <- lmer(y ~ length + lie + order + length:speed + factor(session) - 1 + (0 + length | player) + (0 + lie | player), tr, control = lc)
s <- summary(m)$coefficients; k <- match(c("length", "lie", "order", "length:speed"), rownames(s))
put("trials-level-nov", "estimate", unname(s[k, 1])); put("trials-level-nov", "se", unname(s[k, 2]))
put("trials-level-nov", "tau2", sigma(m)^2); put("trials-level-nov", "reml", as.numeric(REMLcrit(m)))
put("trials-level-nov", "sd", unname(c(attr(VarCorr(m)[[1]], "stddev"), attr(VarCorr(m)[[2]], "stddev"))))

# --- contrasts against a shared baseline --------------------------------------
co <- do.call(rbind, lapply(split(tr, tr$session), function(d) {
  base <- d[1, ]; d <- d[-1, ]
  data.frame(player = d$player, session = d$session, y = d$y - base$y, v = d$v + base$v, v0 = base$v,
             length = d$length - base$length, lie = d$lie - base$lie, speed = d$speed)
}))
save_csv(co, "contrasts.csv")
co$row <- seq_len(nrow(co))
V <- bldiag(lapply(split(co, factor(co$session, unique(co$session))), function(d) { M <- matrix(d$v0[1], nrow(d), nrow(d)); diag(M) <- d$v; M }))
m <- rma.mv(y, V, mods = ~ length + lie + length:speed, random = ~ 1 | row, data = co, control = tight)
mf("contrasts", m); put("contrasts", "clustered", robust(m, cluster = co$player, adjust = FALSE)$se * sqrt(P / (P - 1))); put("contrasts", "tau2", m$sigma2)
m <- rma.mv(y, V, mods = ~ 0 + length + lie + length:speed, random = list(~ 1 | row, ~ 0 + length + lie | player), struct = "GDIAG", data = co, control = tight)
mf("contrasts-diag", m); put("contrasts-diag", "clustered", robust(m, cluster = co$player, adjust = FALSE)$se * sqrt(P / (P - 1))); put("contrasts-diag", "tau2", m$sigma2); put("contrasts-diag", "sd", unname(sqrt(m$tau2)))

put("bh", "rejected", c(sum(p.adjust(c(.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1), "BH") <= .05)))
write.csv(out, "golden.csv", row.names = FALSE, quote = FALSE)
