# Shared helpers. Every script is run from testdata/:  Rscript scripts/NN_name.R
suppressPackageStartupMessages({library(jsonlite)})
rd  <- function(f) read.csv(file.path("data", f), stringsAsFactors = FALSE)
out <- function(name, x) {
  x$`_env` <- list(R = R.version.string, script = name,
                   packages = sapply(loadedNamespaces()[loadedNamespaces() %in%
                     c("survival","lme4","MASS","nlme","metafor","multcomp","emmeans","lmerTest","pbkrtest",
                       "coin","boot","mvtnorm","pwr","exactRankTests","npsurv","rpact")],
                     function(p) as.character(packageVersion(p))))
  writeLines(toJSON(x, digits = I(15), auto_unbox = TRUE, pretty = TRUE, na = "string", null = "null"),
             file.path("made", paste0(name, ".json")))
  cat("wrote made/", name, ".json\n", sep = "")
}
