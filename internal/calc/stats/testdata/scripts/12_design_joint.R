# Efficiency of two arms when three other factors are taken out at once, by a
# generalised inverse. Layouts are drawn by R's own generator from the seed named
# in each; some are made singular on purpose. Writes ref/design_joint.json.
library(MASS)
one <- function(n, arms, levels, seed, spoil) {
  set.seed(seed)
  a <- sample(rep(seq_len(arms), length.out = n))
  f <- lapply(levels, function(k) sample(rep(seq_len(k), length.out = n)))
  if (spoil == "together") { # factors 1 and 2 together tell the arms apart, neither alone
    f[[1]] <- rep(c(1, 1, 2, 2), length.out = n); f[[2]] <- rep(c(1, 2, 2, 3), length.out = n); a <- rep(1:2, length.out = n)
  }
  if (spoil == "one") f[[2]] <- ifelse(a == 1, 1, 2)
  X <- do.call(cbind, c(list(outer(a, seq_len(arms), "==") * 1), lapply(f, function(x) outer(x, sort(unique(x)), "==") * 1)))
  G <- ginv(crossprod(X)); P <- G %*% crossprod(X)
  pairs <- list()
  for (i in seq_len(arms)) for (j in seq_len(arms)) if (i < j) {
    l <- rep(0, ncol(X)); l[i] <- -1; l[j] <- 1
    est <- max(abs(l %*% P - l)) < 1e-8
    v <- if (est) drop(l %*% G %*% l) else NA
    pairs[[length(pairs) + 1]] <- sprintf('{"x": %d, "y": %d, "efficiency": %.15g}', i - 1, j - 1, if (est) (1 / sum(a == i) + 1 / sum(a == j)) / v else 0)
  }
  Z <- do.call(cbind, c(list(rep(1, n)), lapply(f, function(x) outer(x, sort(unique(x)), "==") * 1)))
  sprintf('{"seed": %d, "arms": %d, "arm": [%s], "factors": [%s], "lost": %d, "pairs": [%s]}', seed, arms, paste(a - 1, collapse = ","),
    paste(sapply(f, function(x) paste0("[", paste(x - 1, collapse = ","), "]")), collapse = ","), qr(Z)$rank - 1, paste(unlist(pairs), collapse = ","))
}
cases <- c(one(12, 2, c(2, 2, 2), 1, ""), one(12, 2, c(2, 3, 2), 2, ""), one(18, 3, c(3, 2, 3), 3, ""), one(24, 4, c(4, 3, 2), 4, ""),
  one(9, 3, c(3, 3, 2), 5, ""), one(16, 2, c(2, 2, 2), 6, "together"), one(20, 2, c(2, 2, 5), 7, "one"), one(14, 6, c(4, 4, 2), 8, ""))
cat(sprintf('{"r": "%s", "cases": [\n%s\n]}\n', R.version.string, paste(cases, collapse = ",\n")), file = "ref/design_joint.json")
