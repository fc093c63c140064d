source("scripts/common.R"); suppressPackageStartupMessages({library(multcomp); library(mvtnorm); library(emmeans); library(MASS); library(coin)})
aovtab <- function(m){ a<-anova(m); list(term=rownames(a), df=a$Df, ss=a$`Sum Sq`, ms=a$`Mean Sq`, F=a$`F value`, p=a$`Pr(>F)`) }
dunnett_exact <- function(y,g,ctrl){ # two-sided Dunnett by multivariate t (Genz), unequal n allowed
  g<-relevel(factor(g),ref=ctrl); n<-table(g); mu<-tapply(y,g,mean); N<-length(y);k<-length(n);df<-N-k; s2<-sum((y-mu[g])^2)/df
  d<-mu[-1]-mu[1]; se<-sqrt(s2*(1/n[-1]+1/n[1])); t<-as.numeric(d/se); lam<-sqrt(n[-1]/(n[-1]+n[1])); C<-outer(as.numeric(lam),as.numeric(lam)); diag(C)<-1
  set.seed(9); pv<-sapply(abs(t),function(q) 1-pmvt(rep(-q,k-1),rep(q,k-1),df=df,corr=C,algorithm=GenzBretz(maxpts=5e6,abseps=1e-8))[1])
  q<-qmvt(.95,tail="both.tails",df=df,corr=C,algorithm=GenzBretz(maxpts=5e6,abseps=1e-8))$quantile
  # 1-factor correlation => two-dimensional quadrature, the route recommended for Go (no Genz needed)
  dens<-function(s) exp(log(2)+(df/2)*log(df/2)-lgamma(df/2)+(df-1)*log(s)-df*s^2/2)
  inner<-function(si,q) integrate(function(z) dnorm(z)*sapply(z,function(zz) prod(pnorm((lam*zz+q*si)/sqrt(1-lam^2))-pnorm((lam*zz-q*si)/sqrt(1-lam^2)))),-8.5,8.5,rel.tol=1e-11,subdivisions=400)$value
  cdf<-function(q) integrate(function(s) sapply(s,function(si) dens(si)*inner(si,q)),1e-6,1+12/sqrt(2*df),rel.tol=1e-10,subdivisions=400)$value
  qq<-uniroot(function(x) cdf(x)-.95,c(1,6),tol=1e-10)$root
  list(comparison=paste(names(d),"-",ctrl),diff=as.numeric(d),t=t,df=df,p_genz=pv,p_quadrature=1-sapply(abs(t),cdf),q95_genz=q,q95_quadrature=qq,
       ci95_lo=as.numeric(d-qq*se),ci95_hi=as.numeric(d+qq*se)) }
tuk <- function(m,f){ t<-TukeyHSD(m,f)[[f]]; list(comparison=rownames(t),diff=t[,1],lwr=t[,2],upr=t[,3],p=t[,4]) }
gh <- function(y,g){ g<-factor(g);n<-tapply(y,g,length);mu<-tapply(y,g,mean);v<-tapply(y,g,var);L<-levels(g);k<-length(L);r<-list(); for(i in 1:(k-1))for(j in (i+1):k){ se<-sqrt(v[i]/n[i]+v[j]/n[j]); df<-se^4/((v[i]/n[i])^2/(n[i]-1)+(v[j]/n[j])^2/(n[j]-1)); d<-mu[j]-mu[i]; q<-abs(d)/se*sqrt(2); r[[paste(L[j],L[i],sep="-")]]<-list(diff=unname(d),df=unname(df),p=unname(ptukey(q,k,df,lower.tail=FALSE)),half=unname(qtukey(.95,k,df)*se/sqrt(2)))}; r }
bf <- function(y,g){ z<-abs(y-ave(y,g,FUN=median)); a<-anova(lm(z~factor(g))); list(F=a$F[1],p=a$`Pr(>F)`[1]) }
k1 <- function(y,g,ctrl=NULL){ g<-factor(g); m<-aov(y~g); kw<-kruskal.test(y,g); w<-oneway.test(y~g); p.raw<-pairwise.t.test(y,g,p.adjust="none",pool.sd=FALSE)$p.value; pv<-p.raw[!is.na(p.raw)]
  list(anova=aovtab(lm(y~g)), sigma=sigma(lm(y~g)), R2=summary(lm(y~g))$r.squared, welch_anova=list(F=unname(w$statistic),df=unname(w$parameter),p=w$p.value),
   kruskal=list(H=unname(kw$statistic),df=unname(kw$parameter),p=kw$p.value), bartlett=bartlett.test(y,g)$p.value, brown_forsythe=bf(y,g),
   shapiro_resid=local({o<-shapiro.test(resid(m));list(W=unname(o$statistic),p=o$p.value)}),
   tukey=tuk(m,"g"), games_howell=gh(y,g), dunnett=if(!is.null(ctrl)) dunnett_exact(y,g,ctrl) else NULL, pairwise_welch_raw=pv, pairwise_welch_holm=p.adjust(pv,"holm"), pairwise_welch_bh=p.adjust(pv,"BH")) }
R<-list()
p<-rd("plantgrowth.csv"); R$plantgrowth<-k1(p$weight,p$group,"ctrl")
i<-rd("insectsprays.csv"); R$insectsprays<-k1(sqrt(i$count),i$spray)
pu<-p[-c(3,11,12,29),]; R$plantgrowth_unbalanced_rows_3_11_12_29_removed<-k1(pu$weight,pu$group,"ctrl")
# ---- NIST check with R itself ----
for(n in c("SiRstv","AtmWtAg")) { d<-rd(paste0("nist_",n,".csv")); R[[paste0("nist_",n)]]<-aovtab(lm(y~factor(group),d)) }
# ---- randomised blocks ----
n<-rd("npk.csv"); n$block<-factor(n$block); for(v in c("N","P","K")) n[[v]]<-factor(n[[v]]); R$npk_block_factorial<-aovtab(lm(yield~block+N*P*K,n)); R$npk_note<-"N:P:K is confounded with block (aliased) - the engine must report it as not estimable"; R$npk_alias<-rownames(alias(lm(yield~block+N*P*K,n))$Complete)
a<-rd("trialA_balanced.csv"); a$broth<-factor(a$broth);a$layer<-factor(a$layer); m<-lm(yield_g~layer+broth,a)
blk<-function(d){ m<-lm(yield_g~layer+broth,d); m2<-lm(yield_g~layer*broth,d); m0<-lm(yield_g~broth,d); list(seq=aovtab(m), drop1=local({x<-drop1(m,test="F");list(term=rownames(x)[-1],ss=x$`Sum of Sq`[-1],F=x$`F value`[-1],p=x$`Pr(>F)`[-1])}),
   effect_B_minus_A=list(est=unname(coef(m)["brothB"]),se=summary(m)$coef["brothB",2],df=m$df.residual,t=summary(m)$coef["brothB",3],p=summary(m)$coef["brothB",4],ci95=as.numeric(confint(m)["brothB",])),
   effect_unblocked=list(est=unname(coef(m0)["brothB"]),se=summary(m0)$coef["brothB",2],p=summary(m0)$coef["brothB",4]),
   adj_means=local({e<-as.data.frame(emmeans(m,"broth"));list(level=as.character(e$broth),mean=e$emmean,se=e$SE,lo=e$lower.CL,hi=e$upper.CL)}), interaction=local({x<-anova(m2);list(F=x$F[3],p=x$`Pr(>F)`[3])}),
   vif_broth=local({X<-model.matrix(m);1/(1-summary(lm(X[,"brothB"]~X[,setdiff(colnames(X),c("(Intercept)","brothB"))]))$r.squared)}),
   cramers_v=local({t<-table(d$layer,d$broth);c2<-suppressWarnings(chisq.test(t,correct=FALSE)$statistic);unname(sqrt(c2/sum(t)))}), efficiency=local({X<-model.matrix(m);1/(1/(1-0))*1/((solve(crossprod(X))["brothB","brothB"])/(1/sum(d$broth=="A")+1/sum(d$broth=="B")))})) }
R$trialA<-blk(a)
R$trialA_log<-local({m<-lm(log(yield_g)~layer+broth,a);list(ratio=unname(exp(coef(m)["brothB"])),ci95=as.numeric(exp(confint(m)["brothB",])),p=summary(m)$coef["brothB",4],df=m$df.residual)})
b<-rd("trialB_lostjars.csv");b<-b[!is.na(b$yield_g),];b$broth<-factor(b$broth);b$layer<-factor(b$layer);R$trialB<-blk(b)
# a really unbalanced one: drop 3 jars so that blocks differ
b2<-a[-c(4,5,9),];R$trialA_rows_4_5_9_removed<-blk(b2)
d<-rd("trialD_partly_aligned.csv");d$broth<-factor(d$broth);d$layer<-factor(d$layer);R$trialD<-blk(d)
c0<-rd("trialC_confounded.csv");mC<-lm(yield_g~layer+broth,c0);R$trialC<-list(rank=mC$rank,columns=3,aliased=names(coef(mC))[is.na(coef(mC))],cramers_v=1)
# ---- oats: split plot by classical strata; and as RCBD on variety x nitrogen ----
o<-rd("oats.csv");for(v in c("block","variety","nitrogen"))o[[v]]<-factor(o[[v]]);s<-summary(aov(yield~variety*nitrogen+Error(block/variety),o));R$oats_splitplot<-lapply(s,function(x){x<-x[[1]];list(term=trimws(rownames(x)),df=x$Df,ss=x$`Sum Sq`,F=x$`F value`,p=x$`Pr(>F)`)})
ob<-aggregate(yield~block+variety,o,mean);fr<-friedman.test(yield~variety|block,ob);R$friedman_oats<-list(Q=unname(fr$statistic),df=unname(fr$parameter),p=fr$p.value,p_monte_carlo_1e6=local({set.seed(4);as.numeric(pvalue(friedman_test(yield~variety|block,ob,distribution=approximate(1e6))))}))
w<-rd("warpbreaks.csv");w$wool<-factor(w$wool);w$tension<-factor(w$tension,levels=c("L","M","H"));R$warpbreaks<-list(aov=aovtab(lm(breaks~wool*tension,w)),tukey_tension=tuk(aov(breaks~wool+tension,w),"tension"))
t<-rd("toothgrowth.csv");t$dose<-factor(t$dose);R$toothgrowth<-aovtab(lm(len~supp*dose,t))
# distributions used
g<-expand.grid(q=c(1,2,3,3.5,4,5,8),k=c(2,3,5,10),df=c(2,5,10,30,120,Inf));R$ptukey_upper<-transform(g,p=ptukey(q,k,df,lower.tail=FALSE));h<-expand.grid(p=c(.9,.95,.99),k=c(2,3,6),df=c(3,10,60));R$qtukey<-transform(h,q=qtukey(p,k,df))
out("03_groups_blocks",R)
