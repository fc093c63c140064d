source("scripts/common.R"); suppressPackageStartupMessages({library(rpact)})
R<-list()
# ---- noncentral distributions (double precision of R's pt(,ncp) is limited: AS 243, abs error 1e-12; py/07_noncentral_mp.py gives 30-digit values) ----
g<-expand.grid(t=c(-1,0,1,2,2.228138852,3,5),df=c(2,5,10,22,58,8.98),ncp=c(0,.5,1,2,3.5,6)); R$pt_ncp<-transform(g,p=pt(t,df,ncp))
g<-expand.grid(f=c(.5,1,3,4.964602744,8),df1=c(1,2,4),df2=c(5,10,27,60),ncp=c(0,1,4,10,25)); R$pf_ncp<-transform(g,p=pf(f,df1,df2,ncp))
# ---- classic power ----
pw<-function(...) { o<-power.t.test(...); list(n=o$n,delta=o$delta,sd=o$sd,sig=o$sig.level,power=o$power) }
R$power_t<-list(n6_d1=pw(n=6,delta=1,sd=1),n6_d1_strict=pw(n=6,delta=1,sd=1,strict=TRUE),n6_d2=pw(n=6,delta=2,sd=1),n12_d1=pw(n=12,delta=1,sd=1),n20_d1_rdoc=pw(n=20,delta=1,sd=1),solve_n_d1_90=pw(power=.90,delta=1,sd=1,tol=1e-12),solve_n_d05_80=pw(power=.8,delta=.5,sd=1,tol=1e-12),solve_delta_n6_80=pw(n=6,power=.8,sd=1,delta=NULL,tol=1e-12),paired_n6_d1=pw(n=6,delta=1,sd=1,type="paired"),one_sided_n6_d1=pw(n=6,delta=1,sd=1,alternative="one.sided"))
R$power_anova<-list(g3_n6=local({o<-power.anova.test(groups=3,n=6,between.var=1,within.var=3);o$power}),g4_solve=local({o<-power.anova.test(groups=4,between.var=1,within.var=3,power=.80);o$n}))
R$power_prop_normal<-local({o<-power.prop.test(n=50,p1=.5,p2=.75);o$power})
# exact power of Fisher and of Boschloo-type tests is in py/07_exact_power.py
# ---- unequal n (lost jars): power of pooled t with n1,n2 ----
pu<-function(n1,n2,d,a=.05){ df<-n1+n2-2;ncp<-d/sqrt(1/n1+1/n2);q<-qt(1-a/2,df); pt(q,df,ncp,lower.tail=FALSE)+pt(-q,df,ncp) }
R$power_unequal<-list("6v6_d1.5"=pu(6,6,1.5),"6v4_d1.5"=pu(6,4,1.5),"5v5_d1.5"=pu(5,5,1.5),"6v3_d1.5"=pu(6,3,1.5),"8v4_d1.5"=pu(8,4,1.5))
# ---- table 1: minimum detectable difference, n per arm, CV, power 80 % and 90 %, two-sided 5 %; on the log scale (ratio) and on the raw scale (SD = CV x mean in BOTH arms) ----
mdd<-function(n,pw=.8,a=.05,blocks=0){ df<-2*n-2-blocks; uniroot(function(d) pt(qt(1-a/2,df),df,d/sqrt(2/n),lower.tail=FALSE)+pt(-qt(1-a/2,df),df,d/sqrt(2/n))-pw,c(.01,60),tol=1e-12)$root }
cvs<-c(.10,.15,.20,.25,.30,.40,.50); ns<-c(3,4,5,6,8,10,12,16,20,24,30)
t1<-expand.grid(n=ns,cv=cvs,power=c(.8,.9)); t1$d<-mapply(mdd,t1$n,t1$power); t1$raw_pct<-100*t1$d*t1$cv; sl<-sqrt(log(1+t1$cv^2)); t1$up_pct<-100*(exp(t1$d*sl)-1); t1$down_pct<-100*(1-exp(-t1$d*sl)); R$mdd<-t1
R$mdd_blocked_2_layers<-local({t<-expand.grid(n=ns,power=c(.8));t$d_no_block_df<-sapply(t$n,mdd);t$d_block<-sapply(t$n,function(n) mdd(n,blocks=1));t})
# ---- table 2: jars per arm for a given % difference ----
need<-function(d,pw=.8,a=.05){ for(n in 2:20000){ df<-2*n-2; q<-qt(1-a/2,df); if(pt(q,df,d/sqrt(2/n),lower.tail=FALSE)+pt(-q,df,d/sqrt(2/n))>=pw) return(n) } ; NA }
t2<-expand.grid(pct=c(10,15,20,30,50),cv=cvs,power=c(.8,.9)); t2$n_log<-mapply(function(p,c,w) need(log(1+p/100)/sqrt(log(1+c^2)),w),t2$pct,t2$cv,t2$power); t2$n_raw<-mapply(function(p,c,w) need(p/100/c,w),t2$pct,t2$cv,t2$power); R$n_needed<-t2
# allowance for loss: start jars so that P(at least n usable in BOTH arms) >= 90 % with loss prob l
start<-function(n,l,conf=.9){ m<-n; while((1-pbinom(n-1,m,1-l))^2<conf) m<-m+1; m }
R$start_jars<-local({t<-expand.grid(n=c(6,8,10,12,16,20),loss=c(.05,.1,.2,.3));t$start<-mapply(start,t$n,t$loss);t})
# ---- TOST (log scale, ratio of means within 0.80..1.25 and 0.90..1.111), exact power by integrating over s (Owen's Q equivalent) ----
tost<-function(n,cv,theta=1,lo=.8,hi=1.25,a=.05){ s<-sqrt(log(1+cv^2));df<-2*n-2;se<-s*sqrt(2/n);tq<-qt(1-a,df); dl<-(log(theta)-log(lo))/se;dh<-(log(theta)-log(hi))/se
  up<-(log(hi)-log(lo))/(2*se)*sqrt(df)/tq; # s-hat/sigma*sqrt(df) upper limit
  integrate(function(u) (pnorm(-tq*u/sqrt(df)-dh)-pnorm(tq*u/sqrt(df)-dl))*exp(log(2)+(df-1)*log(u)-u^2/2-lgamma(df/2)-(df/2)*log(2)),0,up,rel.tol=1e-12,subdivisions=2000)$value }
nt<-function(cv,pw=.8,...){ for(n in 2:3000) if(tost(n,cv,...)>=pw) return(n); NA }
# sanity: a 2x2 cross-over with N=40, CV 0.30, ratio 0.95 has the same formula with se=s*sqrt(2/40) and df=38; well-known answer 0.8158 (FROM MEMORY)
tost_xo<-function(N,cv,theta,lo=.8,hi=1.25,a=.05){ s<-sqrt(log(1+cv^2));df<-N-2;se<-s*sqrt(2/N);tq<-qt(1-a,df);dl<-(log(theta)-log(lo))/se;dh<-(log(theta)-log(hi))/se;up<-(log(hi)-log(lo))/(2*se)*sqrt(df)/tq
  integrate(function(u) (pnorm(-tq*u/sqrt(df)-dh)-pnorm(tq*u/sqrt(df)-dl))*exp(log(2)+(df-1)*log(u)-u^2/2-lgamma(df/2)-(df/2)*log(2)),0,up,rel.tol=1e-12,subdivisions=2000)$value }
R$tost_power<-list(crossover_N40_cv30_theta95=tost_xo(40,.3,.95),n6_cv25=tost(6,.25),n12_cv25=tost(12,.25),n24_cv25=tost(24,.25),n38_cv30_theta95=tost(38,.3,.95))
R$tost_n<-local({t<-expand.grid(cv=c(.1,.15,.2,.25,.3,.4),margin=c("0.80-1.25","0.90-1.11"),theta=c(1,.95));t$n<-mapply(function(c,m,th) if(m=="0.80-1.25") nt(c,theta=th) else if(th<.91) NA else nt(c,theta=th,lo=.9,hi=1/.9),t$cv,as.character(t$margin),t$theta);t})
set.seed(5);R$tost_sim<-local({n<-12;cv<-.25;s<-sqrt(log(1+cv^2));B<-2e5;d<-rnorm(B,0,s*sqrt(2/n));sp<-s*sqrt(rchisq(B,2*n-2)/(2*n-2));h<-qt(.95,2*n-2)*sp*sqrt(2/n);mean(d-h>log(.8)&d+h<log(1.25))})
# ---- multiple looks ----
R$repeated_looks_known_var<-local({ks<-c(1,2,3,4,5,10,20);data.frame(looks=ks,type1=sapply(ks,function(K){set.seed(11);B<-4e5;m<-matrix(rnorm(B*K),B,K);hit<-rep(FALSE,B);cs<-rep(0,B);for(k in 1:K){cs<-cs+m[,k];hit<-hit|abs(cs)/sqrt(k)>1.959964};mean(hit)}))})
R$repeated_looks_t_adding_one_jar_per_arm_from_3_to_12<-local({set.seed(12);B<-1e5;x<-matrix(rnorm(B*12),B);y<-matrix(rnorm(B*12),B);hit<-rep(FALSE,B);for(n in 3:12){mx<-rowMeans(x[,1:n]);my<-rowMeans(y[,1:n]);v<-(rowSums((x[,1:n]-mx)^2)+rowSums((y[,1:n]-my)^2))/(2*n-2);hit<-hit|abs(mx-my)/sqrt(v*2/n)>qt(.975,2*n-2)};mean(hit)})
gs<-function(type,K) { d<-getDesignGroupSequential(typeOfDesign=type,kMax=K,alpha=.025,sided=1,informationRates=(1:K)/K); list(z=d$criticalValues,p_two_sided_nominal=2*(1-pnorm(d$criticalValues))) }
R$group_sequential<-list(OF2=gs("OF",2),OF3=gs("OF",3),P2=gs("P",2),P3=gs("P",3),asOF3=gs("asOF",3),asP3=gs("asP",3))
# ---- power of Welch at n=6 by simulation with CI (anchor for timing as well) ----
R$welch_n6<-local({set.seed(2);B<-1e5;f<-function(d,r){x<-matrix(rnorm(B*6),B);y<-matrix(rnorm(B*6,d,r),B);mx<-rowMeans(x);my<-rowMeans(y);vx<-rowSums((x-mx)^2)/5;vy<-rowSums((y-my)^2)/5;se2<-vx/6+vy/6;df<-se2^2/((vx/6)^2/5+(vy/6)^2/5);mean(2*pt(-abs(mx-my)/sqrt(se2),df)<.05)};list(null_equal_sd=f(0,1),null_sd_ratio2=f(0,2),d1.5=f(1.5,1),d2=f(2,1),B=B)})
out("07_power",R)
