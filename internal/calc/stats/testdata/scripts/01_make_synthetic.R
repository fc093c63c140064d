# Invented data (no real grower): shaped like the job. Written once; the CSVs are the fixture, not the RNG.
source("scripts/common.R"); set.seed(20260101)
w <- function(x, f) write.csv(x, file.path("data", f), row.names = FALSE, quote = FALSE, na = "")
# A. one trial, 2 broths x 6 jars, 2 cooker layers, balanced (3+3 per layer); yield g per jar
d <- expand.grid(rep = 1:3, layer = c("bottom","top"), broth = c("A","B"))
d$jar <- sprintf("J%02d", seq_len(nrow(d)))
d$yield_g <- round(118 + 14*(d$broth=="B") - 9*(d$layer=="top") + rnorm(12, 0, 16), 1)
w(d[,c("jar","broth","layer","yield_g")], "trialA_balanced.csv")
# B. same shape, two jars lost to contamination -> unequal n, blank yield
b <- d; b$yield_g[c(5, 11)] <- NA; b$contaminated <- as.integer(is.na(b$yield_g))
w(b[,c("jar","broth","layer","contaminated","yield_g")], "trialB_lostjars.csv")
# C. confounded: broth A all on bottom, B all on top
cc <- d; cc$layer <- ifelse(cc$broth=="A","bottom","top"); w(cc[,c("jar","broth","layer","yield_g")], "trialC_confounded.csv")
# D. partly aligned: 5 of 6 A jars on bottom, 1 on top; B the reverse
dd <- d; dd$layer <- c(rep("bottom",5),"top",rep("top",5),"bottom"); w(dd[,c("jar","broth","layer","yield_g")], "trialD_partly_aligned.csv")
# E. ten trials (runs), each broth A v B, 3-8 jars an arm, some lost; run effect, broth x run variation, jar noise; log scale
e <- do.call(rbind, lapply(1:10, function(r) { n <- sample(3:8, 2, TRUE)
  mu <- log(120) + rnorm(1,0,.18); de <- .12 + rnorm(1,0,.08)
  data.frame(run=sprintf("R%02d",r), broth=rep(c("A","B"), n), yield_g=round(exp(mu + rep(c(0,de), n) + rnorm(sum(n),0,.2)),1))}))
w(e, "trialsE_tenruns.csv")
# F. ties: pin counts per jar
f <- data.frame(arm=rep(c("A","B"),c(7,6)), pins=c(3,5,5,6,7,7,9, 5,7,8,9,9,12)); w(f,"pincounts_ties.csv")
# G. contamination by cooker layer: strata
g <- data.frame(layer=rep(c("bottom","top"),each=2), broth=rep(c("A","B"),2), n=c(12,12,11,12), contaminated=c(1,2,3,7)); w(g,"contam_strata.csv")
# H. colonisation: 2 arms x 6 jars, visits at days 3,5,7,9,12,15,18,21,25; true Gompertz/logistic + noise, clipped 0..100, rounded to 5 %
days <- c(3,5,7,9,12,15,18,21,25)
h <- do.call(rbind, lapply(1:12, function(j){ arm <- if(j<=6)"A" else "B"; k <- rnorm(1, .38,.03); t50 <- rnorm(1, if(arm=="A") 11 else 9.3, .9)
  y <- 100/(1+exp(-k*(days-t50))) + rnorm(length(days),0,2.5); data.frame(jar=sprintf("J%02d",j), arm=arm, day=days, pct=pmin(100,pmax(0,5*round(y/5))))}))
h <- h[!(h$jar=="J04" & h$day>15),]   # jar lost after day 15
w(h,"colonisation.csv")
# I. time to full colonisation seen at visits: interval (left,right], blank right = not yet / lost
i <- do.call(rbind, lapply(1:60, function(j){ arm <- if(j<=30)"A" else "B"; t <- exp((if(arm=="A") log(19) else log(16.5)) + .16*log(-log(runif(1))))
  v <- sort(unique(c(seq(2,30,by=3)+sample(0:1,1)))); lost <- if(runif(1)<.15) sample(8:20,1) else 30
  v <- v[v<=lost]; L <- max(c(0,v[v<t])); R <- if(any(v>=t)) min(v[v>=t]) else NA; data.frame(jar=sprintf("K%02d",j), arm=arm, left=L, right=R)}))
w(i,"fullcolon_interval.csv")
# J. drying: mass of one tray over hours, initial 500 g at 90 % wet basis moisture; Page-like
t <- c(0,.5,1,1.5,2,3,4,5,6,8,10,12); mr <- exp(-.28*t^1.15); dry <- 50; m0 <- 500; me <- 50+50*.06
m <- me + (m0-me)*mr + c(0,rnorm(11,0,1.5)); w(data.frame(hours=t, mass_g=round(m,1)),"drying.csv")
# K. stage durations: days inoculation->pinning for 6 recipes, few batches each
k <- do.call(rbind, lapply(1:6, function(r){ n <- c(1,2,3,5,8,12)[r]; mu <- log(24)+rnorm(1,0,.12); data.frame(recipe=paste0("S",r), days=round(exp(mu+rnorm(n,0,.13)),0))}))
w(k,"stage_durations.csv")
# L. 2 x 30 jars for permutation timing
l <- data.frame(arm=rep(c("A","B"),each=30), yield_g=round(c(rnorm(30,118,22), rnorm(30,129,24)),1)); w(l,"trialL_2x30.csv")
