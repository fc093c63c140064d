"""Exact unconditional power of Fisher's exact test, mid-p Fisher and Boschloo (two-sided by Fisher ordering) for two proportions."""
import json, math, numpy as np
from scipy import stats
def ptab(n):
    P=np.zeros((n+1,n+1));M=np.zeros((n+1,n+1))
    for i in range(n+1):
        for j in range(n+1):
            k=i+j; x=np.arange(max(0,k-n),min(n,k)+1); pm=stats.hypergeom.pmf(x,2*n,k,n); p0=pm[x==i][0]
            P[i,j]=min(1,pm[pm<=p0*(1+1e-7)].sum()); M[i,j]=pm[pm<p0*(1-1e-7)].sum()+.5*pm[np.abs(pm/p0-1)<=1e-7].sum()
    return P,M
def boschloo(P,n):
    g=np.linspace(.001,.999,999); B=stats.binom.pmf(np.arange(n+1)[:,None],n,g)   # (n+1) x G
    vals=np.unique(np.round(P,12)); out=np.zeros_like(P)
    for v in vals:
        Rg=(P<=v*(1+1e-7)+1e-15).astype(float); s=np.einsum('ig,ij,jg->g',B,Rg,B).max(); out[np.abs(P-v)<=1e-11]=s
    return out
res={}
for n in (6,8,10,12,16,20,24,30,40):
    P,M=ptab(n); Bo=boschloo(P,n); r={}
    for p1,p2 in ((.05,.3),(.05,.5),(.1,.4),(.1,.5),(.1,.6),(.2,.5),(.2,.6),(.02,.9)):
        w=np.outer(stats.binom.pmf(np.arange(n+1),n,p1),stats.binom.pmf(np.arange(n+1),n,p2))
        r[f"{p1}v{p2}"]=dict(fisher=float(w[P<=.05].sum()),fisher_midp=float(w[M<=.05].sum()),boschloo=float(w[Bo<=.05].sum()))
    g=np.linspace(.005,.995,199); B=stats.binom.pmf(np.arange(n+1)[:,None],n,g)
    r["max_type1"]={k:float(np.einsum('ig,ij,jg->g',B,(A<=.05).astype(float),B).max()) for k,A in (("fisher",P),("fisher_midp",M),("boschloo",Bo))}
    res[n]=r
json.dump(res,open("made/07_exact_power.json","w"),indent=1)
for n in res: print(n,{k:(round(v['fisher'],3),round(v['boschloo'],3)) for k,v in res[n].items()},{k:round(x,4) for k,x in res[n]['max_type1'].items()})
