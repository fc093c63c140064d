source("scripts/common.R"); suppressPackageStartupMessages(library(MASS))
comp<-function(a,b){ nodes<-c(paste0("a:",unique(a)),paste0("b:",unique(b))); id<-setNames(seq_along(nodes),nodes); repeat{ old<-id; for(i in seq_along(a)){ m<-min(id[paste0("a:",a[i])],id[paste0("b:",b[i])]); id[id==id[paste0("a:",a[i])]]<-m; id[id==id[paste0("b:",b[i])]]<-m }; if(identical(old,id)) break }; g<-tapply(sub("^a:","",names(id)[grepl("^a:",names(id))]),id[grepl("^a:",names(id))],function(x) paste(sort(x),collapse="")); unname(g) }
des<-function(a,b){ A<-sort(unique(a)); X<-cbind(model.matrix(~0+factor(b)),model.matrix(~0+factor(a,levels=A))); nb<-length(unique(b)); XtX<-crossprod(X); G<-ginv(XtX); P<-G%*%XtX; r<-list(); for(i in seq_along(A)) for(j in seq_along(A)) if(i<j){ l<-rep(0,ncol(X)); l[nb+i]<- -1;l[nb+j]<-1; est<-max(abs(l%*%P-l))<1e-8; v<-if(est) drop(l%*%G%*%l) else NA; u<-1/sum(a==A[i])+1/sum(a==A[j]); r[[paste0(A[j],"-",A[i])]]<-list(estimable=est,var_over_sigma2=v,unblocked=u,efficiency=if(est) u/v else 0) }
  list(n=length(a),rank=qr(X)$rank,columns=ncol(X),components=comp(a,b),resid_df=length(a)-qr(X)$rank,contrasts=r,counts=as.data.frame.matrix(table(b,a))) }
R<-list()
R$balanced_2x2<-des(rep(c("A","B"),each=6),rep(rep(c("bottom","top"),each=3),2))
R$confounded<-des(rep(c("A","B"),each=6),rep(c("bottom","top"),each=6))
R$aligned_5_1<-des(rep(c("A","B"),each=6),c(rep("bottom",5),"top",rep("top",5),"bottom"))
R$unequal_4v2_3v3<-des(c(rep("A",4),rep("B",2),rep("A",3),rep("B",3)),c(rep("bottom",6),rep("top",6)))
R$incomplete_AB_BC_CA<-des(rep(c("A","B","B","C","C","A"),each=3),rep(c("r1","r2","r3"),each=6))
R$disconnected_AB_CD<-des(rep(c("A","B","C","D"),each=3),rep(c("r1","r2"),each=6))
R$chain_AB_BC_CD<-des(rep(c("A","B","B","C","C","D"),each=3),rep(c("r1","r2","r3"),each=6))
R$layer_and_run_note<-"with two nuisance factors (run and layer) use [run dummies, layer dummies, arm dummies]; same rank/ginv test"
# number of allocations and the smallest two-sided p an exact randomisation test can reach
mp<-function(k,m) 2/choose(k+m,k)*ifelse(k==m,1,1/2)
R$min_p<-data.frame(n1=c(2,3,4,5,6,6,6,6,8),n2=c(2,3,4,5,6,5,4,3,8)); R$min_p$allocations<-choose(R$min_p$n1+R$min_p$n2,R$min_p$n1); R$min_p$min_two_sided_p_mean_diff<-ifelse(R$min_p$n1==R$min_p$n2,2,1)/R$min_p$allocations; R$min_p$min_two_sided_p_ranks<-2/R$min_p$allocations
R$min_p_blocked<-data.frame(layout=c("2 layers x (3+3)","2 layers x (2+2)","3 layers x (2+2)","2 layers x (1+1)","6 pairs (1+1)","5 pairs (1+1)"),allocations=c(20^2,6^2,6^3,4,64,32)); R$min_p_blocked$min_p<-2/R$min_p_blocked$allocations
# smallest clear-cut split that Fisher calls p<=0.05 (x1 = 0 lost in arm 1)
R$fisher_smallest<-do.call(rbind,lapply(4:12,function(n){ f<-function(x1) {z<-Filter(function(x2) fisher.test(matrix(c(x1,n-x1,x2,n-x2),2))$p.value<=.05,x1:n); if(length(z)) min(z) else NA}; data.frame(n=n,x1_0=f(0),x1_1=f(1),x1_2=f(2)) }))
# totals per arm only: what could the two totals mean? same totals, two jar sets
tot<-list(A_total=617.3,B_total=760.0,jars_even=local({a<-c(101,104,103,102,105,102.3);b<-c(126,127,128,125,127,127);list(A=a,B=b,p=t.test(b,a)$p.value)}),jars_uneven=local({a<-c(20,180,60,150,90,117.3);b<-c(30,240,90,200,100,100);list(A=a,B=b,p=t.test(b,a)$p.value)})); R$totals_prove_nothing<-tot
out("12_design",R)
