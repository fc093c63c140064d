source("scripts/common.R"); suppressPackageStartupMessages({library(coin); library(exactRankTests); library(boot)})
# ---- own helpers -------------------------------------------------------------------------
tt <- function(o) list(t=unname(o$statistic), df=unname(o$parameter), p=o$p.value, ci95=as.numeric(o$conf.int), est=unname(o$estimate))
# exact permutation p of the difference in means by full enumeration (n choose k subsets);
# ties with the observed statistic counted with a relative tolerance of 1e-9 (same must be done in Go)
perm_exact <- function(x, y) { z <- c(x,y); n <- length(z); k <- length(x); S <- sum(z)
  d <- combn(n, k, function(i) { a <- sum(z[i]); a/k - (S-a)/(n-k) }); d0 <- mean(x)-mean(y); tol <- 1e-9*max(1,abs(d0))
  list(n_perm=length(d), diff=d0, p_two=mean(abs(d) >= abs(d0)-tol), p_less=mean(d <= d0+tol), p_greater=mean(d >= d0-tol)) }
# blocked: permute inside each layer only (all combinations of within-layer relabellings)
perm_exact_blocked <- function(y, a, blk) { bl <- split(seq_along(y), blk); lev <- sort(unique(a))
  sets <- lapply(bl, function(ix) { k <- sum(a[ix]==lev[1]); combn(ix, k, simplify=FALSE) })
  stat <- function(iA) { # sum over blocks of (weighted) mean difference B-A, weights n_A n_B/(n_A+n_B)
    s<-0;W<-0; for(ix in bl){ A<-ix[ix%in%iA]; B<-setdiff(ix,A); w<-length(A)*length(B)/length(ix); s<-s+w*(mean(y[B])-mean(y[A])); W<-W+w}; s/W }
  grid <- expand.grid(lapply(sets, seq_along)); d <- apply(grid,1,function(g) stat(unlist(Map(function(s,i) s[[i]], sets, g))))
  d0 <- stat(which(a==lev[1])); tol <- 1e-9*max(1,abs(d0)); list(n_perm=length(d), diff=d0, p_two=mean(abs(d)>=abs(d0)-tol)) }
# shift CI by inverting the exact permutation test of means: limits are where two-sided p crosses 0.05;
# mid-way rule is NOT used; report the smallest/largest delta not rejected (p > alpha) found by root bracketing on the set of jump points
perm_ci <- function(x, y, alpha=.05) { k <- length(x); m<-length(y); z <- c(x,y); n<-k+m
  # delta jump points: for subset pairs exchanging r elements; one-sided inversion at alpha/2 (central interval)
  idx <- combn(n,k); dl <- apply(idx,2,function(i){ r <- sum(!(i %in% 1:k)); if(r==0) return(NA)
      xo <- setdiff(1:k,i); yi <- i[i>k]; (sum(z[xo])-sum(z[yi]))/r })     # delta at which subset i ties with observed (x shifted by delta)
  dl <- sort(dl[!is.na(dl)]); M <- ncol(idx); j <- floor(alpha/2*M)        # need count of subsets >= observed (incl. itself) > alpha/2*M
  c(dl[j], dl[length(dl)-j+1]) }
HL <- function(x,y) median(outer(x,y,"-"))
cmp <- function(x, y) { list(n=c(length(x),length(y)), mean=c(mean(x),mean(y)), sd=c(sd(x),sd(y)),
  welch=tt(t.test(x,y)), pooled=tt(t.test(x,y,var.equal=TRUE)), perm=perm_exact(x,y), perm_shift_ci95=perm_ci(x,y),
  wilcox=suppressWarnings({o<-wilcox.test(x,y,conf.int=TRUE); list(W=unname(o$statistic),p=o$p.value,HL=unname(o$estimate),ci95=as.numeric(o$conf.int),exact_no_ties=!any(duplicated(c(x,y))))}),
  wilcox_asymp_cc=suppressWarnings(wilcox.test(x,y,exact=FALSE,correct=TRUE)$p.value),
  wilcox_asymp_nocc=suppressWarnings(wilcox.test(x,y,exact=FALSE,correct=FALSE)$p.value),
  wilcox_exact_with_ties_coin=as.numeric(pvalue(wilcox_test(v~g, data.frame(v=c(x,y),g=factor(rep(1:2,c(length(x),length(y))))), distribution="exact"))),
  wilcox_exact_with_ties_exactRank=wilcox.exact(x,y)$p.value,
  HL=HL(x,y), HL_ci_exactRank=as.numeric(suppressWarnings(wilcox.exact(x,y,conf.int=TRUE)$conf.int)),
  P_superiority=(sum(outer(x,y,">"))+.5*sum(outer(x,y,"==")))/(length(x)*length(y)),
  var_F=list(F=var(x)/var(y), p=var.test(x,y)$p.value),
  hedges_g=local({n<-length(x);m<-length(y);sp<-sqrt(((n-1)*var(x)+(m-1)*var(y))/(n+m-2));d<-(mean(x)-mean(y))/sp; J<-exp(lgamma((n+m-2)/2)-lgamma((n+m-3)/2)-.5*log((n+m-2)/2)); list(d=d,J=J,g=d*J)}),
  log_ratio=if(all(c(x,y)>0)) local({o<-t.test(log(x),log(y)); list(ratio_geo=exp(mean(log(x))-mean(log(y))), ci95=exp(as.numeric(o$conf.int)), p=o$p.value, df=unname(o$parameter))}) else NULL,
  fieller_ratio=local({n<-length(x);m<-length(y);nu<-t.test(x,y)$parameter;q<-qt(.975,nu);a<-mean(x);b<-mean(y);va<-var(x)/n;vb<-var(y)/m  # Fieller with Welch df at ratio 1
     g<-q^2*vb/b^2; r<-a/b; h<-q/b*sqrt(va*(1-g)+r^2*vb); list(ratio=r,ci95=c((r-h)/(1-g),(r+h)/(1-g)),g=g,df=unname(nu))})) }
R <- list()
p <- rd("plantgrowth.csv"); R$plantgrowth_trt1_ctrl <- cmp(p$weight[p$group=="trt1"], p$weight[p$group=="ctrl"])
R$plantgrowth_trt2_ctrl <- cmp(p$weight[p$group=="trt2"], p$weight[p$group=="ctrl"])
s <- rd("sleep.csv"); x<-s$extra[s$group==1]; y<-s$extra[s$group==2]; R$sleep_as_two_groups <- cmp(x,y)
o<-t.test(x,y,paired=TRUE); R$sleep_paired <- list(t=tt(o), signed_rank_exact_ties=suppressWarnings(list(coin=as.numeric(pvalue(wilcoxsign_test(x~y,distribution="exact",zero.method="Wilcoxon"))), exactRank=wilcox.exact(x,y,paired=TRUE)$p.value, V=unname(wilcox.test(x,y,paired=TRUE)$statistic))),
  sign_flip_exact=local({d<-x-y;G<-as.matrix(expand.grid(rep(list(c(-1,1)),length(d))));st<-abs(G%*%d);list(n=nrow(G),p=mean(st>=abs(sum(d))-1e-9))}))
a <- rd("trialA_balanced.csv"); xa<-a$yield_g[a$broth=="B"]; ya<-a$yield_g[a$broth=="A"]; R$trialA <- cmp(xa,ya)
R$trialA_blocked_perm <- perm_exact_blocked(a$yield_g,a$broth,a$layer)
b <- rd("trialB_lostjars.csv"); b<-b[!is.na(b$yield_g),]; R$trialB <- cmp(b$yield_g[b$broth=="B"], b$yield_g[b$broth=="A"]); R$trialB_blocked_perm <- perm_exact_blocked(b$yield_g,b$broth,b$layer)
b0 <- rd("trialB_lostjars.csv"); b0$yield_g[is.na(b0$yield_g)] <- 0; R$trialB_lost_as_zero_per_started_jar <- cmp(b0$yield_g[b0$broth=="B"], b0$yield_g[b0$broth=="A"])[c("mean","sd","welch","perm","wilcox_exact_with_ties_coin","HL","P_superiority")]
f <- rd("pincounts_ties.csv"); R$pincounts_ties <- cmp(f$pins[f$arm=="B"], f$pins[f$arm=="A"])
i <- rd("insectsprays.csv"); R$insect_C_D <- cmp(i$count[i$spray=="D"], i$count[i$spray=="C"])[c("wilcox_exact_with_ties_coin","wilcox_exact_with_ties_exactRank","welch","perm")]
# ---- bootstrap BCa, difference of means, stratified by arm ---------------------------------
set.seed(1); dA <- data.frame(y=c(xa,ya), g=rep(1:2,c(length(xa),length(ya))))
stat <- function(d,ix){ z<-d[ix,]; mean(z$y[z$g==1])-mean(z$y[z$g==2]) }
bca <- replicate(5, { B<-boot(dA,stat,R=40000,strata=dA$g); k<-boot.ci(B,type=c("bca","perc"),L=empinf(B,type="jack",stype="i")); c(k$bca[4:5],k$percent[4:5]) })
R$bca_trialA_diff_means <- list(bca_mean=rowMeans(bca)[1:2], bca_sd_between_runs=apply(bca,1,sd)[1:2], pct_mean=rowMeans(bca)[3:4], runs=5, B=40000, note="Monte Carlo: accept +-0.3 g at B=40000")
l <- rd("trialL_2x30.csv"); xl<-l$yield_g[l$arm=="B"]; yl<-l$yield_g[l$arm=="A"]; dL<-data.frame(y=c(xl,yl),g=rep(1:2,c(30,30)))
bca <- replicate(5,{ B<-boot(dL,stat,R=40000,strata=dL$g); k<-boot.ci(B,type=c("bca","perc"),L=empinf(B,type="jack",stype="i")); c(k$bca[4:5],k$percent[4:5])})
R$bca_trialL_diff_means <- list(bca_mean=rowMeans(bca)[1:2], bca_sd_between_runs=apply(bca,1,sd)[1:2], pct_mean=rowMeans(bca)[3:4])
# acceleration constant (deterministic): a = sum L^3/(6 (sum L^2)^1.5), L = jackknife influence per observation within strata
acc <- function(x,y){ n<-length(x);m<-length(y); lx<-(x-mean(x))/n; ly<- -(y-mean(y))/m; L<-c(lx,ly); sum(L^3)/(6*sum(L^2)^1.5) }
R$bca_acceleration <- list(trialA=acc(xa,ya), trialL=acc(xl,yl), note="influence values scaled by 1/n_stratum (empirical influence for stratified mean difference)")
# exact bootstrap distribution for a tiny case, so the engine can be tested without Monte Carlo error
xs<-c(1,4,9); all<-as.matrix(expand.grid(1:3,1:3,1:3)); m<-apply(all,1,function(ix) mean(xs[ix])); R$bootstrap_exact_n3 <- list(x=xs, n_resamples=27, se=sqrt(mean((m-mean(m))^2)), prop_less=mean(m<mean(xs)), prop_equal=mean(abs(m-mean(xs))<1e-12), quant=quantile(m,c(.05,.5,.95),type=6))
# L again: normal-approx p and large-sample MC permutation (target)
R$trialL <- list(welch=tt(t.test(xl,yl)), wilcox_normal_cc=suppressWarnings(wilcox.test(xl,yl)$p.value), wilcox_exact_with_ties=wilcox.exact(xl,yl)$p.value, W=unname(wilcox.test(xl,yl)$statistic), HL=HL(xl,yl),HLci=suppressWarnings(as.numeric(wilcox.test(xl,yl,conf.int=TRUE)$conf.int)))
# exact permutation of means for 2x30 through the shift algorithm (integers: scores x10)
po <- perm.test(round(xl*10), round(yl*10), exact=TRUE); R$trialL$perm_exact_shift_algorithm <- list(p_two=po$p.value, T=unname(po$statistic))
out("02_two_sample", R)
