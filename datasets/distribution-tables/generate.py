"""Distribution tails, quantiles, noncentral distributions and power, 50-digit arithmetic (mpmath), printed to 20 digits."""
import mpmath as mp, csv, os, json, itertools
mp.mp.dps=60
here=os.path.dirname(os.path.abspath(__file__)); O=here; S=lambda v: mp.nstr(v,20,min_fixed=-3,max_fixed=6)
M=lambda s: mp.mpf(str(s))
def _cf(a,b,x):
    """continued fraction for I_x(a,b)*a*B(a,b)/(x^a (1-x)^b) (modified Lentz)"""
    eps=mp.mpf(10)**(-mp.mp.dps-3); tiny=mp.mpf(10)**(-1000)
    c=mp.mpf(1); d=1-(a+b)*x/(a+1); d=1/(d if d!=0 else tiny); h=d; m=0
    while True:
        m+=1; m2=2*m
        aa=m*(b-m)*x/((a+m2-1)*(a+m2)); d=1+aa*d; d=1/(d if d!=0 else tiny); c=1+aa/c; c=c if c!=0 else tiny; h*=d*c
        aa=-(a+m)*(a+b+m)*x/((a+m2)*(a+m2+1)); d=1+aa*d; d=1/(d if d!=0 else tiny); c=1+aa/c; c=c if c!=0 else tiny; de=d*c; h*=de
        if abs(de-1)<eps: return h
        if m>200000: raise RuntimeError('cf')
_lb={}
def lbeta(a,b):
    k=(a,b,mp.mp.dps)
    if k not in _lb: _lb[k]=mp.loggamma(a)+mp.loggamma(b)-mp.loggamma(a+b)
    return _lb[k]
def ibeta(a,b,x,w=None):
    """regularised incomplete beta, x and its complement w=1-x supplied so that neither is computed by subtraction"""
    a=mp.mpf(a);b=mp.mpf(b);x=mp.mpf(x); w=1-x if w is None else mp.mpf(w)
    if x<=0: return mp.mpf(0)
    if w<=0: return mp.mpf(1)
    front=mp.e**(a*mp.log(x)+b*mp.log(w)-lbeta(a,b))
    if x<(a+1)/(a+b+2): return front*_cf(a,b,x)/a
    return 1-front*_cf(b,a,w)/b
def lo_up_beta(a,b,x): # I_x(a,b), 1-I_x(a,b) both accurate
    return ibeta(a,b,x), ibeta(b,a,1-x)
def Fcdf(x,d1,d2):
    x=M(x);d1=M(d1);d2=M(d2); z=d1*x/(d1*x+d2); w=d2/(d1*x+d2)
    return ibeta(d1/2,d2/2,z,w), ibeta(d2/2,d1/2,w,z)
def Tcdf(t,v):
    t=M(t);v=M(v); w=v/(v+t*t); up=ibeta(v/2,mp.mpf(1)/2,w,t*t/(v+t*t))/2
    return (1-up,up) if t>=0 else (up,1-up)
def C2(x,v):
    x=M(x);v=M(v); return mp.gammainc(v/2,0,x/2,regularized=True), mp.gammainc(v/2,x/2,mp.inf,regularized=True)
def N(z):
    z=M(z); return mp.erfc(-z/mp.sqrt(2))/2, mp.erfc(z/mp.sqrt(2))/2
def ncF(x,d1,d2,lam):
    x=M(x);d1=M(d1);d2=M(d2);lam=M(lam); z=d1*x/(d1*x+d2); w=d2/(d1*x+d2); h=lam/2
    lo=mp.mpf(0); up=mp.mpf(0); j=0; p=mp.e**(-h)
    a,b=d1/2,d2/2
    # forward recurrences with exact first terms recomputed via betainc every term (slow but safe)
    while True:
        L=ibeta(a+j,b,z,w); U=ibeta(b,a+j,w,z)
        lo+=p*L; up+=p*U
        j+=1; p=p*h/j
        if j>h and p<mp.mpf(10)**(-45): break
    return lo,up
def ncT(t,v,d):
    t=M(t);v=M(v);d=M(d)
    if t<0:
        l,u=ncT(-t,v,-d); return u,l
    h=d*d/2; x=t*t/(v+t*t); w=v/(v+t*t); s=mp.mpf(0); su=mp.mpf(0); j=0
    p=mp.e**(-h); q=d*mp.e**(-h)/(mp.sqrt(2)*mp.gamma(mp.mpf(3)/2))
    Ph=mp.erfc(d/mp.sqrt(2))/2
    while True:
        s+=p*ibeta(j+mp.mpf(1)/2,v/2,x,w)+q*ibeta(j+1,v/2,x,w)
        su+=p*ibeta(v/2,j+mp.mpf(1)/2,w,x)+q*ibeta(v/2,j+1,w,x)
        j+=1; p=p*h/j; q=q*h/(j+mp.mpf(1)/2)
        if j>h and abs(p)+abs(q)<mp.mpf(10)**(-45): break
    lo=Ph+s/2; # upper = 1-lo ; sum form: total mass of p-series=1, q-series = erf(d/sqrt2)
    up=su/2 if True else 1-lo
    # check identity P(T>t) = su/2 (since 1-Phi(-d) = (1+erf(d/sqrt2))/2)
    assert abs(lo+up-1)<mp.mpf(10)**(-35), (lo+up)
    return lo,up
def ncC2(x,v,lam):
    x=M(x);v=M(v);h=M(lam)/2; p=mp.e**(-h); lo=up=mp.mpf(0); j=0
    while True:
        lo+=p*mp.gammainc(v/2+j,0,x/2,regularized=True); up+=p*mp.gammainc(v/2+j,x/2,mp.inf,regularized=True); j+=1; p=p*h/j
        if j>h and p<mp.mpf(10)**(-45): break
    return lo,up
def W(name,head,rows):
    with open(os.path.join(O,name),'w',newline='') as f:
        w=csv.writer(f,lineterminator='\n'); w.writerow(head); w.writerows(rows)
    print(name,len(rows),flush=True)
# central
W('11a-normal.csv',['z','lower','upper'],[[z]+[S(v) for v in N(z)] for z in '-38 -37.5 -30 -20 -10 -8.5 -8 -6 -5 -4 -3 -2.5758293035489004 -2 -1.959963984540054 -1 -0.5 -0.1 -1e-8 0 1e-8 0.1 0.5 1 1.2815515655446004 1.6448536269514722 1.959963984540054 2.5 3 4 5 6 7 8 10 20 30 37.5 38'.split()])
W('11b-t.csv',['t','df','lower','upper','two_sided'],[[t,v]+[S(x) for x in Tcdf(t,v)]+[S(2*min(Tcdf(t,v)))] for v in '0.5 1 1.6666666666666667 2 2.3333333333333335 3 4 5 7.5 10 15 20.41 30 60 120 1000 1e6'.split() for t in '-40 -6 -2 -0.5 -1e-6 0 0.001 0.3 1 1.5 2 3 4.5 8 15 40 200 1e5'.split()])
W('11c-f.csv',['x','df1','df2','lower','upper'],[[x,a,b]+[S(v) for v in Fcdf(x,a,b)] for a,b in [('1','1'),('1','2'),('1','5.913'),('1','9'),('1','30'),('2','2'),('2','6'),('2','10'),('3','8'),('3','4'),('5','5'),('5','15'),('6','9'),('6','20.4'),('9','10'),('10','5'),('14','15'),('20','100'),('100','20'),('4','1e5'),('1','1e6'),('2.5','7.25')] for x in '1e-8 0.001 0.05 0.3 0.8 1 1.5 2.5 4 7 12 30 100 1000 1e5 1e8'.split()])
W('11d-chi2.csv',['x','df','lower','upper'],[[x,v]+[S(q) for q in C2(x,v)] for v in '0.5 1 2 3 4.5 5 8 10 20 30 50 100 500'.split() for x in '1e-6 0.01 0.1 0.5 1 2 3.841458820694124 7 12 20 40 80 150 300 700 1400'.split()])
# quantiles
def root(f,x0,x1): return mp.findroot(f,(x0,x1),solver='anderson',tol=mp.mpf(10)**(-60),maxsteps=400)
def bis(g,lo,hi,n=220):
    lo=mp.mpf(lo);hi=mp.mpf(hi)
    for _ in range(n):
        m=(lo+hi)/2
        if g(m)>0: hi=m
        else: lo=m
    return (lo+hi)/2
P=['1e-10','1e-6','0.001','0.005','0.01','0.025','0.05','0.1','0.25','0.5']
mp.mp.dps=40
rows=[]
def qsolve(upf,p,lo,hi): # in log space, upf decreasing in x
    y=bis(lambda u: M(p)-upf(mp.e**u),mp.log(M(lo)),mp.log(M(hi)),130); return mp.e**y
for p in P:
    rows.append(['normal','','',p,S(mp.sqrt(2)*mp.erfinv(1-2*M(p)))])
    for v in '1 2 2.3333333333333335 3 5 10 20.41 30 120'.split():
        rows.append(['t',v,'',p,'0' if p=='0.5' else S(qsolve(lambda x: ibeta(M(v)/2,mp.mpf(1)/2,M(v)/(M(v)+x*x),x*x/(M(v)+x*x))/2,p,'1e-12','1e30'))])
    for v in '1 2 3 5 10 30 100'.split(): rows.append(['chi2',v,'',p,S(qsolve(lambda x: C2(x,v)[1],p,'1e-15','1e6'))])
    for a,b in [('1','4'),('1','10'),('2','6'),('3','9'),('5','12'),('1','5.913'),('10','20'),('6','60')]: rows.append(['F',a,b,p,S(qsolve(lambda x: ibeta(M(b)/2,M(a)/2,M(b)/(M(a)*x+M(b)),M(a)*x/(M(a)*x+M(b))),p,'1e-12','1e30'))])
W('11e-upper-quantiles.csv',['dist','df1','df2','upper_p','x'],rows)
# noncentral
mp.mp.dps=60
W('11f-noncentral-f.csv',['x','df1','df2','lambda','lower','upper'],[[x,a,b,l]+[S(v) for v in ncF(x,a,b,l)] for a,b in [('1','3'),('1','10'),('1','5.913'),('2','6'),('3','12'),('5','30'),('10','10')] for l in ['0','0.1','1','5','12.5','40','120'] for x in ['0.01','0.5','1','2.5','5','12','50']])
W('11g-noncentral-t.csv',['t','df','delta','lower','upper'],[[t,v,d]+[S(x) for x in ncT(t,v,d)] for v in ['1','3','6','11.5','20','60'] for d in ['-2','0','0.5','1.5','3','6','12'] for t in ['-3','-0.5','0','0.7','2','4.5','10','25']])
W('11h-noncentral-chi2.csv',['x','df','lambda','lower','upper'],[[x,v,l]+[S(q) for q in ncC2(x,v,l)] for v in ['1','2','4.5','10'] for l in ['0','0.5','4','20','80'] for x in ['0.1','1','5','15','50','150']])
# power
def tcrit(v,p): return qsolve(lambda x: ibeta(v/2,mp.mpf(1)/2,v/(v+x*x),x*x/(v+x*x))/2,p,'1e-6','1e12')
def fcrit(a,b,p): return qsolve(lambda x: ibeta(b/2,a/2,b/(a*x+b),a*x/(a*x+b)),p,'1e-9','1e20')
mp.mp.dps=45
rows=[]
for n in (2,3,5,10,17,25,64):
    for d in ('0.25','0.5','1','2'):
        for al in ('0.05','0.01'):
            v=mp.mpf(2*n-2); c=tcrit(v,M(al)/2); de=M(d)*mp.sqrt(mp.mpf(n)/2); pw=ncT(c,v,de)[1]+ncT(-c,v,de)[0]
            rows.append(['two-sample t, two-sided (both tails)',n,d,al,S(c),S(v),S(de),S(pw)])
            v=mp.mpf(n-1); c=tcrit(v,M(al)/2); de=M(d)*mp.sqrt(n); pw=ncT(c,v,de)[1]+ncT(-c,v,de)[0]
            rows.append(['one-sample t, two-sided (both tails)',n,d,al,S(c),S(v),S(de),S(pw)])
for k,n in ((2,4),(3,3),(3,5),(3,8),(4,3),(4,6),(5,10)):
    for f in ('0.25','0.4','1'):
        a=mp.mpf(k-1); b=mp.mpf(k*(n-1)); lam=M(f)**2*k*n; c=fcrit(a,b,M('0.05'))
        rows.append(['one-way ANOVA, k=%d groups of n'%k,n,f,'0.05',S(c),'%d,%d'%(int(a),int(b)),S(lam),S(ncF(c,a,b,lam)[1])])
for N_,dfe in ((8,4),(8,1),(16,5),(16,10),(20,12),(32,26)):
    for e in ('0.5','1','2','3'):
        lam=mp.mpf(N_)*(M(e)/2)**2; c=fcrit(mp.mpf(1),mp.mpf(dfe),M('0.05'))
        rows.append(['two-level factorial effect (difference of two halves of N runs), error df given',N_,e,'0.05',S(c),'1,%d'%dfe,S(lam),S(ncF(c,1,dfe,lam)[1])])
W('11i-power.csv',['test','n_or_N','effect_size_in_sd','alpha','critical_value','df','noncentrality','power'],rows)
