# Times metafor's rma.mv on the largest set of simulated trials that it fits in
# three minutes on two cores (with sparse matrices, its fastest way), and writes
# the data and what it took and found. Run in this folder:
#   Rscript speed.R [players]
# The Go benchmark BenchmarkAgainstMetafor fits the same file.
suppressPackageStartupMessages(library(metafor))
P <- as.integer(c(commandArgs(TRUE), "200")[1])
set.seed(7)
d <- do.call(rbind, lapply(1:P, function(p) {
  speed <- rnorm(1); b <- rnorm(2, 0, c(.12, .1))
  do.call(rbind, lapply(1:2, function(s) {
    n <- 6; level <- rnorm(1, -3, .4); shots <- sample(c(6, 8, 10, 12), n, TRUE)
    length <- sample(c(0, 0, 1.27, -1.27, 2.54), n, TRUE); lie <- sample(c(0, 0, 1, -1, 2), n, TRUE)
    order <- seq_len(n) - 1; v <- trigamma(shots - 2)
    y <- level + (.05 + .04 * speed + b[1]) * length + (-.03 + b[2]) * lie - .02 * order + rnorm(n, 0, sqrt(.03 + v))
    data.frame(player = p, session = paste0(p, "s", s), y, v, length, lie, order, speed)
  }))
}))
d[c("y", "v", "speed")] <- lapply(d[c("y", "v", "speed")], function(x) as.numeric(sprintf("%.6f", x)))
write.csv(d, "speed.csv", row.names = FALSE, quote = FALSE)
d$row <- seq_len(nrow(d))
t <- system.time(m <- rma.mv(y, v, mods = ~ length + lie + order + length:speed + factor(session) - 1,
  random = list(~ 1 | row, ~ 0 + length + lie | player), struct = "GDIAG", data = d, sparse = TRUE))
k <- match(c("length", "lie", "order", "length:speed"), rownames(m$beta))
out <- data.frame(key = c("cpu_s", "wall_s", "rows", "players", "length", "lie", "order", "length:speed", "tau2"),
  value = sprintf("%.8g", c(t[1] + t[2], t[3], nrow(d), P, m$beta[k, 1], m$sigma2)))
write.csv(out, "speed_metafor.csv", row.names = FALSE, quote = FALSE)
