#!/usr/bin/env Rscript
# Fetch one answer of the fleet, plot it and refit it, with nothing but R:
#
#   Rscript answer.R http://127.0.0.1:8080 ANSWER [DIR]
#
# Writes ANSWER-rows.csv and ANSWER.pdf, and prints each attribute's change as answered
# beside one computed here: weighted least squares within levels, standard errors
# clustered by player. That is a plainer model than the fleet's (players do not differ in
# it, and builds have no effects of their own); with the package lme4 a fit with the
# players' own slopes follows. A console that asks for a sign-in wants the cookie in the
# environment: FAIRLEAD_COOKIE="NAME=VALUE".
args <- commandArgs(TRUE)
if (length(args) < 2) stop("give the console's address and the id of an answer")
base <- sub("/+$", "", args[1]); id <- args[2]; dir <- if (length(args) > 2) args[3] else "."
cookie <- Sys.getenv("FAIRLEAD_COOKIE")
fetch <- function(path, to) {
	download.file(paste0(base, path), to, quiet = TRUE, headers = if (nzchar(cookie)) c(Cookie = cookie))
	to
}
effects <- read.csv(fetch(paste0("/fleet/answers/", id, ".csv"), tempfile()), check.names = FALSE)
rows <- read.csv(fetch(paste0("/fleet/answers/", id, ".rows.csv"), file.path(dir, paste0(id, "-rows.csv"))))
effects <- effects[effects$attribute != "" & (is.na(effects$trait) | effects$trait == ""), ]
columns <- intersect(names(rows), effects$term)
also <- intersect(c(paste0(columns, "_curve"), "warm_up", "fatigue", "swap"), names(rows))
level <- interaction(rows$player, rows$session, rows$level, drop = TRUE)
w <- 1 / rows$v
inside <- function(x) x - (rowsum(w * x, level)[, 1] / rowsum(w, level)[, 1])[as.character(level)]
x <- sapply(rows[c(columns, also)], inside); y <- inside(rows$y)
bread <- solve(crossprod(x, w * x)); beta <- bread %*% crossprod(x, w * y)
score <- rowsum(x * as.vector(w * (y - x %*% beta)), rows$player)
n <- nrow(score)
se <- sqrt(diag(bread %*% crossprod(score) %*% bread) * n / (n - 1))
here <- data.frame(term = c(columns, also), here = as.vector(beta), se = se)[seq_along(columns), ]
out <- merge(effects[c("term", "change", "ci_low", "ci_high")], here)
print(out, digits = 3, row.names = FALSE)
pdf(file.path(dir, paste0(id, ".pdf")), width = 8, height = 1 + nrow(out) / 2)
par(mar = c(4, 9, 2, 1)); at <- rev(seq_len(nrow(out)))
plot(out$change, at, xlim = range(out$ci_low, out$ci_high, out$here - 1.96 * out$se, out$here + 1.96 * out$se, 0), ylim = c(.5, nrow(out) + .5),
	yaxt = "n", ylab = "", xlab = "change of one step, as the answer counts it", pch = 19, main = "as answered (filled), refitted here (hollow)")
segments(out$ci_low, at, out$ci_high, at); abline(v = 0, col = "grey")
points(out$here, at - .2); segments(out$here - 1.96 * out$se, at - .2, out$here + 1.96 * out$se, at - .2, col = "grey40")
axis(2, at, out$term, las = 1)
invisible(dev.off())
if (requireNamespace("lme4", quietly = TRUE) && Sys.getenv("FAIRLEAD_LME4") != "") {
	d <- rows; d$w <- w / mean(w); d$level <- level
	f <- as.formula(paste("y ~", paste(c(columns, also), collapse = "+"), "+ (1 | level) + (0 +", columns[1], "| player)"))
	print(summary(lme4::lmer(f, d, weights = w))$coefficients, digits = 3)
}
