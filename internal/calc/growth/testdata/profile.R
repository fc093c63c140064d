# Where the sum of squares, least over the other parameters, rises as far as a t
# of 95 % says, by Gauss-Newton steps and uniroot of R, to about 1e-10. Ends that
# are not met within 12 standard errors are Inf.
#
#     Rscript profile.R
options(digits = 15)
rise <- deriv(~ b1 * (1 - exp(-b2 * x)), c("b1", "b2"), function(b1, b2, x) NULL)
rat42 <- deriv(~ b1 / (1 + exp(b2 - b3 * x)), c("b1", "b2", "b3"), function(b1, b2, b3, x) NULL)
rat43 <- deriv(~ b1 / (1 + exp(b2 - b3 * x))^(1 / b4), c("b1", "b2", "b3", "b4"), function(b1, b2, b3, b4, x) NULL)
logistic <- deriv(~ 100 / (1 + exp(-rate * (x - half))), c("half", "rate"), function(half, rate, x) NULL)
gompertz <- deriv(~ 100 * 2^(-exp(-rate * (x - half))), c("half", "rate"), function(half, rate, x) NULL)

fit <- function(f, x, y, b, free) {
  at <- function(b) {
    v <- do.call(f, c(as.list(b), list(x = x)))
    list(r = y - as.vector(v), g = attr(v, "gradient")[, free, drop = FALSE])
  }
  now <- at(b)
  for (k in 1:300) {
    step <- qr.coef(qr(now$g), now$r)
    part <- 1
    repeat {
      n <- b
      n[free] <- b[free] + part * step
      new <- at(n)
      if (is.finite(sum(new$r^2)) && sum(new$r^2) <= sum(now$r^2) * (1 + 1e-14) || part < 1e-10) break
      part <- part / 2
    }
    b <- n
    now <- new
    if (max(abs(step / (abs(b[free]) + 1e-9))) < 1e-13) break
  }
  list(b = b, rss = sum(now$r^2), g = now$g)
}
ends <- function(name, f, x, y, start) {
  p <- length(start)
  best <- fit(f, x, y, start, 1:p)
  df <- length(x) - p
  se <- sqrt(diag(solve(crossprod(best$g))) * best$rss / df)
  t <- qt(.975, df)
  limit <- best$rss * (1 + t^2 / df)
  for (k in 1:p) {
    out <- sapply(c(-1, 1), function(side) {
      from <- best$b
      over <- function(v) {
        b <- from
        b[k] <- v
        if (p > 1) b <- fit(f, x, y, b, (1:p)[-k])$b
        r <- y - as.vector(do.call(f, c(as.list(b), list(x = x))))
        if (is.finite(sum(r^2))) from <<- b
        sum(r^2) - limit
      }
      a <- best$b[k]
      for (n in 1:60) {
        b <- a + side * t * se[k] / 5
        if (!is.finite(over(b))) return(NA)
        if (over(b) > 0) return(uniroot(over, sort(c(a, b)), tol = 1e-13 * abs(b))$root)
        a <- b
      }
      side * Inf
    })
    cat(sprintf("%-28s %d  %.12g  %.12g\n", name, k, out[1], out[2]))
  }
}
of <- function(name) read.csv(paste0("nist_", name, ".csv"))
d <- of("Misra1a"); ends("Misra1a", rise, d[[1]], d[[2]], c(239, 5.5e-4))
d <- of("BoxBOD"); ends("BoxBOD", rise, d[[1]], d[[2]], c(214, .55))
d <- of("Rat42"); ends("Rat42", rat42, d[[1]], d[[2]], c(72, 2.6, .067))
d <- of("Rat43"); ends("Rat43", rat43, d[[1]], d[[2]], c(700, 5.3, .76, 1.28))
d <- read.csv("colonisation.csv")
for (jar in unique(d[[1]])) {
  j <- d[d[[1]] == jar, ]
  ends(paste(jar, "logistic"), logistic, j[[3]], j[[4]], c(12, .4))
}
