# The model with random blocks of BenchmarkREML5000, on the same 5000 rows, by
# lmer of R's lme4 package: its answer and its time. Not run in CI.
#
#     sh bench/days/ratios.sh
suppressPackageStartupMessages(library(lme4))
i <- 0:4999
block <- i %/% 25
u <- (block * 0.618033988749895) %% 1 - 0.5
e <- (i * 0.754877666246693) %% 1 - 0.5
y <- 100 + 5 * (i %% 2) + 30 * u + 60 * e
d <- data.frame(y, arm = i %% 2, block = factor(block))
fit <- function() lmer(y ~ arm + (1 | block), d)
m <- fit()
v <- as.data.frame(VarCorr(m))$vcov
cat(sprintf("variance %.4f  residual %.4f  criterion %.4f\n", v[1], v[2], REMLcrit(m)))
cat(sprintf("%.3f ms a fit\n", 1000 * min(replicate(20, system.time(fit())[["elapsed"]]))))
