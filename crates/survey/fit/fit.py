"""Learns the weights of the key model: python3 fit.py ROWS TRUTH.csv EXTRA.csv WEIGHTS.rs

ROWS is the folder that `examples/keyrows.rs` wrote to. Prints the cross-validation (six folds, by work: all movements
of a quartet together), then writes WEIGHTS.rs. Each fold starts from nothing: a start from the full fit would leak.
"""
import numpy as np, os, sys, collections, csv
np.set_printoptions(precision=3,suppress=True,linewidth=160)
ROWS,TRUTH,EXTRA,OUT=map(os.path.abspath,sys.argv[1:5]); os.chdir(ROWS)
layout=[(a,int(b),int(c)) for a,b,c in (l.rstrip('\n').split('\t') for l in open('layout.tsv'))]
W=sum(c for _,_,c in layout); ALONE=[b for a,b,c in layout if a=='SCORE_LAST'][0]
M=[l.rstrip('\n').split('\t') for l in open('meta.tsv')]
X0=np.fromfile('rows.bin','<f8').reshape(-1,24,W)
A=lambda i,t=str: np.array([t(m[i]) for m in M])
unit,part,tier,test,gold0,scale,src,nn,sig,dup,aug,bel=A(0),A(1,int),A(2),A(3)=='1',A(4,int),A(5),A(6),A(7,int),A(8,int),A(12)=='1',A(13)=='1',A(14)=='1'
keys0=[m[11].split(',') for m in M]
K=14
def dist(k,s): return abs(s-(int(k[:-1])-(3 if k[-1]=='m' else 0)))
sel=np.array([np.argsort([dist(k,s) for k in ks],kind='stable')[:K] for ks,s in zip(keys0,sig)])
X=np.take_along_axis(X0,sel[:,:,None],1).astype(np.float64); del X0
gold=np.array([np.where(s==g)[0][0] if g in s else -1 for s,g in zip(sel,gold0)])
keys=[[ks[j] for j in s] for ks,s in zip(keys0,sel)]
off=np.array([s-(int(k[g][:-1])-(3 if k[g][-1]=='m' else 0)) for s,k,g in zip(sig,keys0,gold0)])
ismin=np.array(['m' in k[g] for k,g in zip(keys0,gold0)])
doubt=np.array([('declno' in s and (sc=='phr' or 'other' in s)) for s,sc in zip(src,scale)]) | ((tier=='other') & np.array(['declno' in s for s in src]))
doubt|=(tier=='chorale')&((abs(off)>1)|((off==-1)&ismin))
grp=np.array([u if '#' in u or 'movement' not in u else u.rsplit('/',1)[0] for u in unit])
cnt=collections.Counter(unit[~dup&~aug])
TW={'chorale':1.0,'quartet':4.0,'abc':1.0,'essen':.4,'madrigal':.3,'palestrina':.15,'other':3.0}
wt=np.array([TW[t]/cnt[u] for t,u in zip(tier,unit)])
wt[doubt]=0; wt[gold<0]=0; wt[dup]*=.3; wt[aug]*=.06; wt[(tier=='abc')&(off!=0)]*=.6; wt[~bel]=0
KT={(r['unit'],r['part']) for r in csv.DictReader(open(TRUTH))}
rows85=np.array([u.endswith('mxl') and (u,str(p)) in KT for u,p in zip(unit,part)])
def fit(X,gold,wt,lam,w0=None,tol=1e-4):
    n,k,d=X.shape; w=np.zeros(d) if w0 is None else w0.copy()
    G=X[np.arange(n),gold]; XX=X.reshape(-1,d)
    def ev(w):
        s=(XX@w).reshape(n,k); s-=s.max(1,keepdims=True); p=np.exp(s); p/=p.sum(1,keepdims=True)
        return (wt*np.log(np.maximum(p[np.arange(n),gold],1e-300))).sum()-.5*lam*(w@w),p
    ll,p=ev(w)
    for it in range(30):
        mu=(p[:,None,:]@X)[:,0,:]
        g=(wt[:,None]*(G-mu)).sum(0)-lam*w
        P=(p*wt[:,None]).reshape(-1); live=P>1e-5; Q=XX[live]
        H=(Q*P[live][:,None]).T@Q-(mu*wt[:,None]).T@mu+lam*np.eye(d)
        step=np.linalg.solve(H,g); t=1.0
        while True:
            l2,p2=ev(w+t*step)
            if l2>=ll+1e-4*t*(g@step) or t<1e-3: break
            t*=.5
        w=w+t*step; done=l2-ll<tol*abs(ll); ll,p=l2,p2
        if done: break
    return w
def prob(X,w):
    s=X@w; s-=s.max(1,keepdims=True); p=np.exp(s); return p/p.sum(1,keepdims=True)
def folds(grp,k=6,seed=1):
    u=np.unique(grp); rng=np.random.default_rng(seed); rng.shuffle(u); f={g:i%k for i,g in enumerate(u)}
    return np.array([f[g] for g in grp])
def cv(cols,lam,k=6):
    Z=X[:,:,cols]; sd=Z.reshape(-1,len(cols)).std(0)+1e-9; Z=Z/sd
    use=~test&(wt>0); F=folds(grp,k); P=np.zeros((len(gold),K))
    full=fit(Z[use],gold[use],wt[use],lam)
    for f in range(k):
        tr=use&(F!=f); te=(F==f)
        w=fit(Z[tr],gold[tr],wt[tr],lam,None,1e-6); P[te]=prob(Z[te],w)
    P[test]=prob(Z[test],full)
    return P,full/sd
def report(P,name=''):
    ok=P.argmax(1)==gold; base=~test&~doubt&~dup&~aug&bel
    pct=lambda m: f"{ok[m].mean()*100:.1f}"
    ll=-np.log(P[np.arange(len(gold)),gold].clip(1e-9))
    print(name,'CV',' '.join(f"{t} {pct(base&(tier==t))}({(base&(tier==t)).sum()})" for t in sorted(set(tier))),f"nll {np.average(ll[base],weights=wt[base]):.4f} acc {np.average(ok[base],weights=wt[base])*100:.2f}")
    print('   chorale SATB',[pct(base&(tier=='chorale')&(part==q)) for q in range(4)],'quartet',[pct(base&(tier=='quartet')&(part==q)) for q in range(4)],
      'unknown role',[(t,pct(~test&~doubt&~aug&dup&(tier==t))) for t in('chorale','quartet')],'cut',[(t,pct(~test&~doubt&aug&(tier==t))) for t in('chorale','quartet')])
    print('   85 rows',ok[rows85&~dup].sum(),(rows85&~dup).sum(),'unknown role',ok[rows85&dup].sum(),(rows85&dup).sum(), 'other tests',[(t,pct(test&~dup&~rows85&(tier==t))) for t in sorted(set(tier[test]))])
    return ok
def calib(P,m):
    pm=P.max(1); ok=P.argmax(1)==gold
    e=[0,.3,.4,.5,.6,.7,.8,.9,.95,.99,1.0001]
    for a,b in zip(e[:-1],e[1:]):
        q=m&(pm>=a)&(pm<b)
        if q.sum(): print(f"   {a:.2f}-{b:.2f}: n={q.sum()} mean p={pm[q].mean():.3f} correct={ok[q].mean():.3f}")
LAM=20.0
out=["//! How much does each piece of evidence weigh? Three fitted tables, one number per column of the evidence.\n//!\n//! Fitted, not chosen: by maximum likelihood with a quadratic penalty (20 on columns scaled to unit spread) on scores\n//! that ship with music21 10.5.1, none of them a row of the test table `key-truth.csv`: 1490 chorale parts, 111 quartet\n//! parts, 54 others, 970 fiddle tunes, 684 folk songs, 239 madrigal parts, 728 Palestrina parts. `FIT.md` tells how the\n//! labels were made and how well the weights do in cross-validation by work.\n\nuse super::features::{ALONE, WIDTH};\n"]
def arr(name,doc,w,size):
    s=f"/// {doc}\n#[rustfmt::skip]\npub const {name}: [f64; {size}] = [\n"
    for a,b,n in layout:
        if b>=len(w): break
        s+=f"    // {a}\n    "+" ".join(f"{x:.3f}," for x in w[b:b+n])+"\n"
    return s+"];\n"
def spread(cols,w):
    full=np.zeros(max(ALONE,max(cols)+1) if max(cols)>=ALONE else ALONE); full[cols]=w; return full
al=list(range(ALONE)); allc=list(range(W))
nosig=[c for a,b,n in layout if b<ALONE and not a.startswith(('SIGNATURE','OFF_')) for c in range(b,b+n)]
res={}; PS={}
def logits(cols,k=6):
    """Scores of the part alone, each part's from a fit without its work; and the weights of the full fit."""
    Z=X[:,:,cols]; sd=Z.reshape(-1,len(cols)).std(0)+1e-9; Z=Z/sd
    use=~test&(wt>0); F=folds(grp,k); S=np.zeros((len(gold),K))
    full=fit(Z[use],gold[use],wt[use],LAM)
    for f in range(k):
        tr=use&(F!=f); S[F==f]=Z[F==f]@fit(Z[tr],gold[tr],wt[tr],LAM,None,1e-6)
    S[test]=Z[test]@full
    return S,full/sd
for name,cols in (('ALONE_WEIGHTS',al),('UNSIGNED_WEIGHTS',nosig)):
    S,w=logits(cols); P=prob(S[:,:,None],np.ones(1)); PS[name]=P; report(P,name)
    if name=='ALONE_WEIGHTS': SA=S
    res[name]=spread(cols,w)
# Second stage: how much the part's own score counts beside the whole score's evidence.
has=X[:,:,ALONE:].any((1,2)); Z=np.concatenate([(SA-SA.max(1)[:,None])[:,:,None],X[:,:,ALONE:]],2)
sd=Z.reshape(-1,Z.shape[2]).std(0)+1e-9; Z=Z/sd; F=folds(grp,6); use=~test&(wt>0)&has
P=PS['ALONE_WEIGHTS'].copy(); full=fit(Z[use],gold[use],wt[use],3.0,None,1e-6)
for f in range(6):
    tr=use&(F!=f); q=(F==f)&has; P[q]=prob(Z[q],fit(Z[tr],gold[tr],wt[tr],3.0,None,1e-6))
P[test&has]=prob(Z[test&has],full); PS['SCORE_WEIGHTS']=P; report(P,'SCORE_WEIGHTS'); full=full/sd
def fifths(name): return {c:i for i,c in enumerate('FCGDAEB',-1)}[name[0]]+sum({'#':7,'-':-7,'b':-7}[c] for c in name[1:])
EX={}
for r in csv.DictReader(open(EXTRA)):
    if r['unit'].endswith(('mxl','xml')): EX[(r['unit'],r['part'])]=(r['tonic'],r['mode'],r['tier'])
for name in ('ALONE_WEIGHTS','SCORE_WEIGHTS'):
    P=PS[name]; tot=collections.Counter(); hit=collections.Counter()
    pm=[];okk=[]
    for i in range(len(gold)):
        if dup[i] or aug[i] or test[i]: continue
        e=EX.get((unit[i],str(part[i])))
        if not e: continue
        k=keys[i][P[i].argmax()]; want=f"{fifths(e[0])}{'m' if e[1]=='minor' else 'M'}"
        tot[e[2]]+=1; hit[e[2]]+=k==want
    print(name,'key-extra, cross-validated:',sum(hit.values()),sum(tot.values()),round(100*sum(hit.values())/sum(tot.values()),1),{t:f"{hit[t]}/{tot[t]}" for t in tot})
    m=~test&~doubt&~dup&~aug&bel&(gold>=0); best=None
    for T in np.arange(.9,1.8,.05):
        Q=P[m].clip(1e-12)**(1/T); Q/=Q.sum(1,keepdims=True); nl=-np.log(Q[np.arange(m.sum()),gold[m]]); nl=np.average(nl,weights=wt[m])
        if best is None or nl<best[0]: best=(nl,T)
    print('   temperature',best)
    Q=P.clip(1e-12)**(1/best[1]); Q/=Q.sum(1,keepdims=True); calib(Q,m)
out.append(arr('ALONE_WEIGHTS','For a part by itself.',res['ALONE_WEIGHTS'],'ALONE'))
out.append(arr('UNSIGNED_WEIGHTS','For a part whose signature is not to be believed: the same fit without the signature columns.',res['UNSIGNED_WEIGHTS'],'ALONE'))
out.append(f"/// How much the score of the part by itself counts beside the evidence of the whole score.\npub const PART_IN_SCORE: f64 = {full[0]:.3f};\n")
s="/// For the evidence of the whole score, added to the part's.\n#[rustfmt::skip]\npub const SCORE_WEIGHTS: [f64; WIDTH - ALONE] = [\n"
for a,b,n in layout:
    if b>=ALONE: s+=f"    // {a}\n    "+" ".join(f"{x:.3f}," for x in full[1+b-ALONE:1+b-ALONE+n])+"\n"
out.append(s+"];\n")
open(OUT,'w').write("\n".join(out))
