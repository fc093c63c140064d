"""What accuracy can a float64 engine reach on NIST ANOVA?  LRE of F for (a) two-pass after parsing to float64, (b) centring the decimal text exactly first."""
import os,json,math,scipy
from fractions import Fraction
SRC=os.path.join(os.path.dirname(scipy.__file__),"stats/tests/data/nist_anova"); cert=json.load(open("made/00_nist.json"))["anova"]; out={}
def F(g):
    k=len(g);N=sum(map(len,g));gm=math.fsum(x for v in g for x in v)/N;mb=[math.fsum(v)/len(v) for v in g]
    ssb=math.fsum(len(v)*(m-gm)**2 for v,m in zip(g,mb));ssw=math.fsum((x-m)**2 for v,m in zip(g,mb) for x in v);return ssb/(k-1)/(ssw/(N-k))
for f in sorted(os.listdir(SRC)):
    if not f.endswith(".dat"): continue
    g={}
    for r in open(os.path.join(SRC,f)).read().split("\n")[60:]:
        if r.strip(): a,b=r.split(); g.setdefault(a,[]).append(b)
    c=cert[f[:-4]]["F"]; lre=lambda v:15 if v==c else round(min(15,-math.log10(abs(v/c-1))),1)
    base=Fraction(next(iter(g.values()))[0]); out[f[:-4]]=dict(float_first=lre(F([[float(x) for x in v] for v in g.values()])),decimal_centred=lre(F([[float(Fraction(x)-base) for x in v] for v in g.values()])))
json.dump(out,open("made/00_nist_lre.json","w"),indent=1); print(out)
