"""studentized range upper tail: P(Q>q; r means, v df) by nested Gauss-Legendre (double), inner range distribution, outer chi density."""
import numpy as np, csv, os
from scipy.special import ndtr, gammaln
from scipy.optimize import brentq
here=os.path.dirname(os.path.abspath(__file__)); O=here
xg,wg=np.polynomial.legendre.leggauss(240)
z=(xg+1)/2*17-8.5; wz=wg*8.5; ph=np.exp(-z*z/2)/np.sqrt(2*np.pi)
def prange_upper(w,r): # P(range of r std normals > w) = 1 - r * int phi(z)[Phi(z+w... )]
    w=np.asarray(w)[:,None]; return 1-(r*(ph*wz)*(ndtr(z)-ndtr(z-w))**(r-1)).sum(1)
def up(q,r,v):
    # s = sqrt(chi2_v/v); density
    sd=1/np.sqrt(2*v); lo=max(0.0,1-14*sd) if v>=30 else 0.0; hi=1+ (14*sd if v>=30 else 12*sd+3)
    tot=0.0; K=8; ed=np.linspace(lo,hi,K+1)
    for a,b in zip(ed[:-1],ed[1:]):
        s=(xg+1)/2*(b-a)+a; ws=wg*(b-a)/2
        ls=np.log(np.maximum(s,1e-300)); lf=np.log(2)+v/2*np.log(v/2)-gammaln(v/2)+(v-1)*ls-v*s*s/2
        tot+=(ws*np.exp(lf)*prange_upper(q*s,r)).sum()
    return tot
rows=[]
for r in (2,3,4,5,6,8,10,20):
    for v in (2,3,5,6,10,20,40,60,120):
        for q in ('0.5','1.5','2.5','3.5','4.5','6','9'): rows.append([q,r,v,'%.13g'%up(float(q),r,v)])
with open(os.path.join(O,'11j-studentized-range.csv'),'w') as f: w=csv.writer(f,lineterminator='\n'); w.writerow(['q','nmeans','df','upper']); w.writerows(rows)
# published points: Tukey q table (from memory): q.05(3,10)=3.877, q.05(4,20)=3.958, q.05(5,60)=3.977, q.01(3,10)=5.27
for r,v,p,pub in ((3,10,.05,3.877),(4,20,.05,3.958),(5,60,.05,3.977),(3,10,.01,5.270)): print(r,v,p,brentq(lambda q:up(q,r,v)-p,1,20),pub)
