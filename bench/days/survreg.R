# The interval-censored Weibull fit of BenchmarkFitAFT1000, on the same 1000
# spans, by survreg of R's survival package: its answer and its time. Not run in
# CI.
#
#     Rscript bench/days/survreg.R
#     go test ./internal/calc/survive -run '^$' -bench FitAFT1000
suppressPackageStartupMessages(library(survival))
i <- 0:999
u <- (i %% 500 + 0.5) / 500
arm <- i %/% 500
day <- 18 * exp(-0.15 * arm) * (-log(u))^0.2
left <- floor(day / 3) * 3
right <- left + 3
right[i %% 10 == 0] <- NA
left[left == 0] <- NA # left-censored
s <- Surv(left, right, type = "interval2")
fit <- function() survreg(s ~ arm, dist = "weibull", control = survreg.control(rel.tolerance = 1e-12, maxiter = 100))
m <- fit()
cat(sprintf("level %.10f  arm %.10f  scale %.10f  log likelihood %.8f\n", coef(m)[1], coef(m)[2], m$scale, m$loglik[2]))
cat(sprintf("%.2f ms a fit\n", 1000 * system.time(for (k in 1:200) fit())[["elapsed"]] / 200))
