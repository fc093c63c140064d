# The R side of against.py: time in seconds and answer of each task.
suppressPackageStartupMessages(library(boot))
d <- read.csv("internal/calc/stats/testdata/data/trialL_2x30.csv")
z <- d$yield_g
say <- function(name, seconds, ...) cat(name, seconds, ..., "\n")
timed <- function(expr) { gc(); unname(system.time(expr)["elapsed"]) }

if (requireNamespace("exactRankTests", quietly = TRUE)) {
  b <- as.integer(round(10 * z[31:60])); a <- as.integer(round(10 * z[1:30]))
  test <- function() exactRankTests::perm.test(b, a, exact = TRUE)$p.value
  say("exact", min(replicate(5, timed(test()))), test())
}
set.seed(1)
obs <- mean(z[31:60]) - mean(z[1:30]); total <- sum(z)
p <- 0
s <- timed({
  gap <- vapply(1:1e6, function(i) { a <- sum(z[sample.int(60L, 30L)]); (total - a) / 30 - a / 30 }, 0)
  p <- mean(abs(gap) >= abs(obs) - 1e-9)
})
say("draws", s, p)
gap <- function(y, i) { w <- y[i]; mean(w[31:60]) - mean(w[1:30]) }
ends <- c(0, 0)
s <- timed({
  b <- boot(z, gap, R = 1e5, strata = rep(1:2, each = 30))
  influence <- c(-(z[1:30] - mean(z[1:30])) * 2, (z[31:60] - mean(z[31:60])) * 2)
  ends <- boot.ci(b, type = "bca", L = influence)$bca[4:5]
})
say("bootstrap", s, ends[1], ends[2])
