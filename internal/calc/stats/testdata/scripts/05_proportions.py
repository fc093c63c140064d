"""Proportions: exact tests and intervals. SciPy 1.10 + own formulas (cross-checked in R/05_proportions.R)."""
import json, math, numpy as np, scipy, itertools
from scipy import stats, optimize
z=stats.norm.ppf(.975)
def wilson(x,n,z=z):
    p=x/n; c=(p+z*z/(2*n))/(1+z*z/n); h=z/(1+z*z/n)*math.sqrt(p*(1-p)/n+z*z/(4*n*n)); return [max(0,c-h),min(1,c+h)]
def wilson_cc(x,n):
    r=stats.binomtest(x,n).proportion_ci(.95,"wilsoncc"); return [r.low,r.high]
def cp(x,n):
    r=stats.binomtest(x,n).proportion_ci(.95,"exact"); return [r.low,r.high]
def jeff(x,n): return [0.0 if x==0 else float(stats.beta.ppf(.025,x+.5,n-x+.5)),1.0 if x==n else float(stats.beta.ppf(.975,x+.5,n-x+.5))]
def ac(x,n):
    nt=n+z*z;p=(x+z*z/2)/nt;h=z*math.sqrt(p*(1-p)/nt);return [p-h,p+h]
def newcombe(x1,n1,x2,n2):
    p1,p2=x1/n1,x2/n2;l1,u1=wilson(x1,n1);l2,u2=wilson(x2,n2);d=p1-p2
    return [d-math.sqrt((p1-l1)**2+(u2-p2)**2), d+math.sqrt((u1-p1)**2+(p2-l2)**2)]
def mn_score(x1,n1,x2,n2,d0):  # Miettinen-Nurminen restricted MLE score statistic, with N/(N-1)
    N=n1+n2; C=x1+x2; L3=N;L2=(n1+2*n2)*d0-N-C;L1=(n2*d0-N-2*x2)*d0+C;L0=x2*d0*(1-d0)
    q=(L2/(3*L3))**3-L1*L2/(6*L3**2)+L0/(2*L3); sg=1 if q>=0 else -1
    p=sg*math.sqrt(max(0,(L2/(3*L3))**2-L1/(3*L3)))
    a=0 if p==0 else (math.pi+math.acos(max(-1,min(1,q/p**3))))/3
    r2=2*p*math.cos(a)-L2/(3*L3); r2=min(1,max(0,r2)); r1=min(1,max(0,r2+d0))
    v=(r1*(1-r1)/n1+r2*(1-r2)/n2)*N/(N-1)
    d=x1/n1-x2/n2-d0
    return 0 if abs(d)<1e-15 else (math.copysign(math.inf,d) if v<=0 else d/math.sqrt(v))
def mn(x1,n1,x2,n2):
    d=x1/n1-x2/n2
    f=lambda t:mn_score(x1,n1,x2,n2,t)
    lo=-1.0 if f(-1+1e-12)<z else optimize.brentq(lambda t:min(f(t),1e6)-z,-1+1e-12,d-1e-13,xtol=1e-14)
    hi=1.0 if f(1-1e-12)>-z else optimize.brentq(lambda t:max(f(t),-1e6)+z,d+1e-13,1-1e-12,xtol=1e-14)
    return [lo,hi]
def fisher_mid(t):
    (a,b),(c,d)=t; r=a+b;n=a+b+c+d;k=a+c; h=stats.hypergeom(n,r,k); lo=max(0,k-(n-r));hi=min(r,k); p0=h.pmf(a)
    ps=[h.pmf(i) for i in range(lo,hi+1)]; less=sum(p for p in ps if p<p0*(1-1e-7)); eq=sum(p for p in ps if abs(p/p0-1)<=1e-7); return less+.5*eq
def barnard_own(t,kind="pooled"):   # independent re-implementation on a fine grid + polishing
    (a,b),(c,d)=t; n1=a+c; n2=b+d    # columns are the two arms, as in SciPy
    X1,X2=np.meshgrid(np.arange(n1+1),np.arange(n2+1),indexing="ij")
    p1,p2=X1/n1,X2/n2
    if kind=="pooled":
        pp=(X1+X2)/(n1+n2); v=pp*(1-pp)*(1/n1+1/n2)
    else: v=p1*(1-p1)/n1+p2*(1-p2)/n2
    with np.errstate(all="ignore"): T=np.where(p1==p2,0,(p1-p2)/np.sqrt(v))
    t0=abs(T[a,b]); R=np.abs(T)>=t0-1e-12
    f=lambda pi:float(np.sum((stats.binom.pmf(X1,n1,pi)*stats.binom.pmf(X2,n2,pi))[R]))
    g=np.linspace(1e-6,1-1e-6,20001)
    v=np.array([f(x) for x in g[::10]]); i=int(v.argmax()); gg=g[::10]
    r=optimize.minimize_scalar(lambda x:-f(x),bounds=(gg[max(0,i-1)],gg[min(len(gg)-1,i+1)]),method="bounded",options=dict(xatol=1e-12))
    return max(float(v.max()),-float(r.fun))
def boschloo_own(t):
    (a,b),(c,d)=t; n1=a+c;n2=b+d
    P=np.array([[stats.fisher_exact([[i,j],[n1-i,n2-j]])[1] for j in range(n2+1)] for i in range(n1+1)])
    Pl=np.array([[stats.hypergeom.cdf(i,n1+n2,i+j,n1) for j in range(n2+1)] for i in range(n1+1)])
    Pg=np.array([[stats.hypergeom.sf(i-1,n1+n2,i+j,n1) for j in range(n2+1)] for i in range(n1+1)])
    X1,X2=np.meshgrid(np.arange(n1+1),np.arange(n2+1),indexing="ij")
    def sup(R):
        f=lambda pi:float(np.sum((stats.binom.pmf(X1,n1,pi)*stats.binom.pmf(X2,n2,pi))[R])); g=np.linspace(1e-6,1-1e-6,2001); v=[f(x) for x in g]; i=int(np.argmax(v))
        r=optimize.minimize_scalar(lambda x:-f(x),bounds=(g[max(0,i-1)],g[min(2000,i+1)]),method="bounded",options=dict(xatol=1e-12)); return max(max(v),-r.fun)
    return dict(two_sided_fisher_ordering=sup(P<=P[a,b]*(1+1e-7)),less=sup(Pl<=Pl[a,b]*(1+1e-7)),greater=sup(Pg<=Pg[a,b]*(1+1e-7)))
R={"one_sample":{}, "two_by_two":{}}
for x,n in [(0,6),(1,6),(3,6),(6,6),(0,12),(2,12),(7,12),(1,24),(0,60),(5,60),(81,263)]:
    R["one_sample"][f"{x}/{n}"]=dict(wilson=wilson(x,n),wilson_cc=wilson_cc(x,n),clopper_pearson=cp(x,n),jeffreys=jeff(x,n),agresti_coull=ac(x,n),one_sided_upper95_if_zero=(1-.05**(1/n) if x==0 else None))
# tables: rows = contaminated / clean ; columns = arm 1 / arm 2
T={"0of6_v_4of6":(0,6,4,6),"1of6_v_5of6":(1,6,5,6),"0of6_v_6of6":(0,6,6,6),"2of12_v_7of12":(2,12,7,12),"1of12_v_3of11":(1,12,3,11),"3of24_v_9of23":(3,24,9,23),"newcombe_56of70_v_48of80":(56,70,48,80),"newcombe_9of10_v_3of10":(9,10,3,10),"newcombe_10of10_v_0of20":(10,10,0,20),"7of12_v_1of7_scipydoc":(7,19,12,19)}
for k,(x1,n1,x2,n2) in T.items():
    t=[[x1,x2],[n1-x1,n2-x2]]; t2=[[x1,n1-x1],[x2,n2-x2]]
    o=stats.contingency.odds_ratio(t2,kind="conditional"); ci=o.confidence_interval(.95)
    a,b,c,d=x1,n1-x1,x2,n2-x2
    e=dict(x1=x1,n1=n1,x2=x2,n2=n2,fisher_two=stats.fisher_exact(t2)[1],fisher_less=stats.fisher_exact(t2,"less")[1],fisher_greater=stats.fisher_exact(t2,"greater")[1],fisher_midp_two=fisher_mid(t2),
      or_cond_mle=float(o.statistic),or_cond_ci95=[float(ci.low),float(ci.high)],
      newcombe_diff=newcombe(x1,n1,x2,n2),miettinen_nurminen_diff=mn(x1,n1,x2,n2),diff=x1/n1-x2/n2,
      barnard_pooled_scipy=float(stats.barnard_exact(t,n=128,pooled=True).pvalue),barnard_unpooled_scipy=float(stats.barnard_exact(t,n=128,pooled=False).pvalue),
      boschloo_two_scipy=float(stats.boschloo_exact(t,n=128).pvalue),boschloo_less_scipy=float(stats.boschloo_exact(t,"less",n=128).pvalue),boschloo_greater_scipy=float(stats.boschloo_exact(t,"greater",n=128).pvalue))
    if n1*n2<=6000: e["barnard_pooled_own"]=barnard_own(t); e["boschloo_own"]=boschloo_own(t)
    pr=stats.chi2_contingency(t2,correction=False) if min(a+c,b+d)>0 else None
    if pr is not None: e["pearson_chi2"]=float(pr.statistic); e["pearson_p"]=float(pr.pvalue)
    # risk ratio log CI (Katz) with 0.5 added when a zero cell occurs
    aa,nn,cc,mm=(x1,n1,x2,n2) if min(x1,x2)>0 else (x1+.5,n1+.5,x2+.5,n2+.5)
    rr=(aa/nn)/(cc/mm);s=math.sqrt(1/aa-1/nn+1/cc-1/mm);e["rr_katz"]=[rr,rr*math.exp(-z*s),rr*math.exp(z*s)]
    R["two_by_two"][k]=e
R["_env"]=dict(scipy=scipy.__version__,numpy=np.__version__,note="SciPy boschloo two-sided = min(1,2*min(one-sided)); own two_sided_fisher_ordering orders tables by Fisher two-sided p (R package Exact style). They differ; the engine must say which it uses.")
def _fix(o):
    if isinstance(o,dict): return {k:_fix(v) for k,v in o.items()}
    if isinstance(o,list): return [_fix(v) for v in o]
    return ("Inf" if o>0 else "-Inf") if isinstance(o,float) and math.isinf(o) else o
json.dump(_fix(R),open("made/05_proportions_py.json","w"),indent=1)
for k,e in R["two_by_two"].items(): print(k,{q:e[q] for q in e if q not in("or_cond_ci95",)})
print(R["one_sample"]["0/6"],R["one_sample"]["81/263"])
