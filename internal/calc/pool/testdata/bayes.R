# The model of Bayes by integrate and uniroot of R, to about 1e-11. For each set
# of trials: the mean, its interval, the spread, the chance above 0, the interval
# of a new trial, its chance above 0, the interval of the spread; and the first of
# them, drawn towards the others, with its interval.
#
#     Rscript bayes.R
told <- function(y, se, prior, scale) {
  s <- min(se)
  given <- function(tau) {
    v <- se^2 + tau^2
    a <- 1 / prior^2 + sum(1 / v)
    b <- sum(y / v)
    c(b / a, 1 / a, -tau^2 / (2 * scale^2) - sum(log(v)) / 2 - log(a) / 2 - (sum(y^2 / v) - b^2 / a) / 2)
  }
  all <- function(u) sapply(s * sinh(u), given) # u in place of tau = s sinh(u), so that no scale is missed
  far <- asinh(100 * scale / s)
  best <- optimize(function(u) all(u)[3], c(0, far), maximum = TRUE, tol = 1e-10)
  top <- max(best$objective, all(0)[3])
  dens <- function(u) exp(all(u)[3, ] - top) * cosh(u)
  over <- function(f, to = far) {
    cuts <- sort(unique(c(seq(0, to, length.out = 40), min(best$maximum, to))))
    sum(sapply(seq_len(length(cuts) - 1), function(k) {
      integrate(f, cuts[k], cuts[k + 1], rel.tol = 1e-12, abs.tol = 0, stop.on.error = FALSE)$value
    }))
  }
  whole <- over(dens)
  below <- function(x, new) over(function(u) {
    k <- all(u)
    dens(u) * pnorm(x, k[1, ], sqrt(k[2, ] + new * (s * sinh(u))^2))
  }) / whole
  mean <- over(function(u) dens(u) * all(u)[1, ]) / whole
  at <- function(p, new) {
    w <- 10 * sd(c(y, y + se, y - se)) + 10 * max(se) + 3 * new * scale
    uniroot(function(x) below(x, new) - p, mean + c(-w, w), tol = 1e-13)$root
  }
  spread <- over(function(u) dens(u) * s * sinh(u)) / whole
  spreadAt <- function(p) s * sinh(uniroot(function(u) over(dens, u) / whole - p, c(1e-9, far), tol = 1e-12)$root)
  cat(paste(sprintf("%.12g", c(
    mean, at(.025, 0), at(.975, 0), spread, 1 - below(0, 0), at(.025, 1), at(.975, 1), 1 - below(0, 1), spreadAt(.025), spreadAt(.975)
  )), collapse = ", "), "\n")
  own <- function(k) { # the first trial, drawn towards the others
    t <- s * sinh(k)
    w <- t^2 / (t^2 + se[1]^2)
    g <- all(k)
    list(w * y[1] + (1 - w) * g[1, ], sqrt(w * se[1]^2 + (1 - w)^2 * g[2, ]))
  }
  first <- function(x) over(function(u) {
    k <- own(u)
    dens(u) * pnorm(x, k[[1]], k[[2]])
  }) / whole
  ends <- sapply(c(.025, .975), function(p) uniroot(function(x) first(x) - p, y[1] + c(-20, 20) * (se[1] + sd(c(y, y + se))), tol = 1e-13)$root)
  cat("  ", paste(sprintf("%.12g", c(over(function(u) dens(u) * own(u)[[1]]) / whole, ends)), collapse = ", "), "\n")
}
y <- c(
  0.0239911139380018, 0.0399539758037308, 0.127263669278962, 0.0706744063300473, 0.271398579893098,
  0.0368791731101714, 0.221082142173368, 0.129932462264261, 0.199640350423001, 0.0667877040862725
)
v <- c(
  0.0146003872109642, 0.00946321393303238, 0.0162226524566269, 0.011124104541687, 0.0173041626204021,
  0.0189264278660648, 0.0118966118015264, 0.008690706673193, 0.00946321393303238, 0.008690706673193
)
told(y, sqrt(v), .5, .2)
told(y[1], sqrt(v[1]), .5, .2)
b <- read.csv("bcg.csv")
treated <- b$tpos + b$tneg
control <- b$cpos + b$cneg
told(log(b$tpos / treated / (b$cpos / control)), sqrt(1 / b$tpos - 1 / treated + 1 / b$cpos - 1 / control), 4, .5)
told(c(.1, .1002, .0997, .1001), rep(1e-4, 4), .5, .2) # far finer than the prior
told(c(-3, 2, 4), c(.1, .1, .2), .5, .2) # far further apart than the prior
