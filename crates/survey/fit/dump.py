"""Labelled scores as plain lines, for `examples/keyrows.rs`: python3 dump.py TRUTH.csv KIND ...

Scores: the corpus of music21 10.5.1. KIND: bach quartet monteverdi palestrina abc essen; writes KIND.dump here.
Units named in TRUTH.csv are marked as test and are never fitted. Labels:
- chorales, madrigals and other scores: the last bass note is the tonic; the signature decides between major and
  minor where it can, else the longer third above the tonic in the whole score;
- string quartets: the key of the movement by the composers' work lists (from memory, compared with the last chord);
- tunes: the ABC K: field; Essen: K: gives the tonic, the longer third above it the mode;
- Palestrina: the kern designation (*G:mix).
"""
import sys,os,re,csv,random,warnings
warnings.filterwarnings('ignore')
import music21
from music21 import corpus,converter,expressions,meter,key,bar,stream,note,chord
from fractions import Fraction
ROOT=os.path.join(os.path.dirname(music21.__file__),'corpus')
def fr(x):
    f=Fraction(x).limit_denominator(9600); return f"{f.numerator}/{f.denominator}"
ABR={'dor':'dor','mix':'mix','phr':'phr','lyd':'lyd','aeo':'aeo','min':'min','maj':'maj','ion':'maj','loc':'loc','m':'min','':'maj'}
COARSE={'dor':'minor','phr':'minor','aeo':'minor','min':'minor','maj':'major','mix':'major','lyd':'major','ion':'major'}
FIF={c:i for i,c in enumerate('FCGDAEB',-1)}
def fifths(name):
    t=FIF[name[0].upper()]
    for c in name[1:]:
        t+= 7 if c=='#' else -7 if c in 'b-' else 0
    return t
truth={}
for r in csv.DictReader(open(sys.argv[1])):
    truth.setdefault(r['unit'],[]).append(r)
def dump(out,unit,tier,score,label):
    """label: function(score, parts)->(t,mode,scale,src) or None, or dict per part"""
    parts=list(score.parts) if score.hasPartLikeStreams() else [score]
    out.write(f"S\t{unit}\t{tier}\t{'test' if unit in truth else 'train'}\n")
    lab=label(score,parts) if callable(label) else label
    for i,p in enumerate(parts):
        inst=p.getInstrument(returnDefault=True)
        tr=getattr(inst,'transposition',None)
        td,tc=(tr.diatonic.generic.directed,int(tr.chromatic.semitones)) if tr is not None else (1,0)
        td = td-1 if td>0 else td+1
        l=lab
        if l is None: l=('-','-','-','-')
        elif tc!=0:
            # concert label to written
            iv=music21.interval.Interval(music21.pitch.Pitch('C4'),tr.transposePitch(music21.pitch.Pitch('C4')))
            e=tr.transposePitch(music21.pitch.Pitch('C4'))
            l=(l[0]-fifths(e.name),)+tuple(l[1:])
        out.write(f"P\t{i}\t{(p.partName or '').replace(chr(9),' ').replace(chr(10),' ')}\t{td}\t{tc}\t{l[0]}\t{l[1]}\t{l[2]}\t{l[3]}\n")
        ms=list(p.getElementsByClass(stream.Measure))
        if not ms: ms=[p]
        for bi,m in enumerate(ms):
            f=[]
            lb=getattr(m,'leftBarline',None); rb=getattr(m,'rightBarline',None)
            if isinstance(lb,bar.Repeat) and lb.direction=='start': f.append('rs')
            if isinstance(rb,bar.Repeat) and rb.direction=='end': f.append('re')
            elif rb is not None and rb.type in('double','final','light-light','light-heavy'): f.append('db')
            ln=m.highestTime
            out.write(f"B\t{bi}\t{fr(ln)}\t{','.join(f)}\n")
            for c in m.getElementsByClass('Clef'):
                if c.sign in('G','F','C'): out.write(f"C\t{fr(c.offset)}\t{c.sign}\t{c.line}\t{c.octaveChange}\n")
            for k in m.getElementsByClass(key.KeySignature): out.write(f"K\t{fr(k.offset)}\t{k.sharps}\n")
            for k in m.getElementsByClass(meter.TimeSignature):
                out.write(f"M\t{fr(k.offset)}\t{k.numerator}\t{k.denominator}\n")
            vs=list(m.getElementsByClass(stream.Voice))
            groups=[(n,m) for n in [0]]+[(j,v) for j,v in enumerate(vs)]
            for vi,g in groups:
                for n in g.getElementsByClass(note.GeneralNote):
                    if n.duration.isGrace or getattr(n,'style',None) is None: continue
                    if 'ChordSymbol' in n.classes or 'Harmony' in n.classes: continue
                    off=n.offset+(g.offset if g is not m else 0)
                    fl=''
                    if any(isinstance(e,expressions.Fermata) for e in n.expressions): fl+='f'
                    if n.isRest: out.write(f"R\t{fr(off)}\t{fr(n.quarterLength)}\t{vi}\t{fl}\n"); continue
                    if not hasattr(n,'pitches') or not n.pitches: continue
                    t=n.tie
                    if t is not None: fl+={'start':'s','stop':'e','continue':'se'}.get(t.type,'')
                    ps='+'.join(f"{x.step}{int(x.alter)}o{x.implicitOctave}" for x in n.pitches if x.alter==int(x.alter))
                    if ps: out.write(f"N\t{fr(off)}\t{fr(n.quarterLength)}\t{vi}\t{fl or '-'}\t{ps}\n")
    out.flush()
def final_label(score,parts,src='final'):
    """last sounding: lowest pitch; mode by thirds over it in whole score; concert pitch"""
    s=score.toSoundingPitch() if any(getattr(p.getInstrument(returnDefault=True),'transposition',None) is not None for p in parts) else score
    fl=[n for n in s.flatten().notes if 'ChordSymbol' not in n.classes and 'Harmony' not in n.classes and not n.duration.isGrace and getattr(n,'pitches',())]
    if not fl: return None
    end=max(n.offset+n.quarterLength for n in fl)
    last=[x for n in fl if n.offset+n.quarterLength>=end-0.01 for x in n.pitches]
    b=min(last,key=lambda x:x.ps); t=fifths(b.name)
    w={}
    for n in fl:
        for x in n.pitches:
            f=fifths(x.name); w[f]=w.get(f,0)+float(n.quarterLength)
    maj,minr=w.get(t+4,0),w.get(t-3,0)
    ks=next(iter(score.recurse().getElementsByClass(key.KeySignature)),None)
    sg=ks.sharps if ks is not None else None
    decl=None
    if isinstance(ks,key.Key): decl=(fifths(ks.tonic.name.replace('-','b')),ks.mode)
    mode='major' if maj>minr else 'minor'
    if sg is not None:
        # the signature decides between parallel modes where it can
        if sg-t in(0,): mode='major'
        if sg-t in(-3,): mode='minor'
    chordtones={fifths(x.name)-t for x in last}
    tri='triad' if chordtones<= {0,1,4,-3} else 'other'
    d='decl' if decl and decl[0]==t and decl[1]==mode else 'nodecl' if not decl else 'declno'
    scale={('major',0):'maj',('minor',-3):'min',('major',-1):'mix',('major',1):'lyd',('minor',-2):'dor',('minor',-4):'phr'}.get((mode,(sg-t) if sg is not None else 99),mode[:3])
    return (t,mode,scale,f"{src}:{tri}:{d}:{sg}")
HAND={'schumann_clara/polonaise_op1n1.mxl':'Eb','schumann_clara/polonaise_op1n2.mxl':'C','schumann_clara/polonaise_op1n3.mxl':'D','schumann_clara/polonaise_op1n4.mxl':'C','schumann_robert/opus41no1/movement1.mxl':None,'schumann_robert/opus41no1/movement2.mxl':'a','schumann_robert/opus41no1/movement3.mxl':None,'handel/rinaldo/Lascia_chio_pianga.mxl':None,'mozart/k545/movement1_exposition.mxl':'C','leadSheet/berlinAlexandersRagtime.mxl':None,'leadSheet/fosterBrownHair.mxl':'F','cpebach/h186.mxl':None,'schumann_clara/opus17/movement3.xml':'G'}
QK={'haydn/opus1no1':['Bb','Bb','Eb','Bb','Bb'],'haydn/opus74no1':['C','G','C','C'],'mozart/k155':['D','A','D'],'mozart/k156':['G','e','G','e'],'mozart/k458':['Bb','Bb','Eb','Bb'],'mozart/k80':['G','G','G','G'],'beethoven/opus18no1':['F','d','F','F'],'beethoven/opus59no1':['F','Bb','f','F'],'beethoven/opus59no2':['e','E','e','e'],'beethoven/opus59no3':['C','a','C','C']}
def main(kind):
    out=open(f'{kind}.dump','w'); random.seed(7)
    if kind=='bach':
        for f in sorted(os.listdir(ROOT+'/bach')):
            if f.endswith('.mxl') and f!='bwv846.mxl':
                try: s=converter.parse(ROOT+'/bach/'+f)
                except Exception as e: print(f,e); continue
                dump(out,'bach/'+f,'chorale',s,final_label)
    if kind=='quartet':
        for d in ['haydn','mozart','beethoven','schumann_robert','schumann_clara','handel','verdi','schubert','joplin','corelli','cpebach','leadSheet','johnson_j_r','liliuokalani','beach','weber','demos','lusitano']:
            for r,_,fs in os.walk(ROOT+'/'+d):
                for f in sorted(fs):
                    if not f.endswith(('.mxl','.xml','.musicxml')): continue
                    u=os.path.relpath(os.path.join(r,f),ROOT)
                    try: s=converter.parse(os.path.join(r,f))
                    except Exception as e: print(f,e); continue
                    k=None; m=re.search(r'movement(\d)',u); base=os.path.dirname(u)
                    if base in QK and m and int(m[1])<=len(QK[base]):
                        k=QK[base][int(m[1])-1]
                        lab=(fifths(k),'minor' if k[0].islower() else 'major','min' if k[0].islower() else 'maj','worklist')
                        try: print(u,lab,final_label(s,list(s.parts)))
                        except Exception as e: print(u,e)
                    elif u in HAND:
                        k=HAND[u]; lab=None if k is None else (fifths(k),'minor' if k[0].islower() else 'major','min' if k[0].islower() else 'maj','hand')
                    else:
                        try: lab=final_label(s,list(s.parts))
                        except Exception as e: print(u,e); lab=None
                        print(u,lab)
                    dump(out,u,'quartet' if base in QK or 'opus41' in u or d=='beethoven' else 'other',s,lab)
    if kind=='monteverdi':
        for f in sorted(os.listdir(ROOT+'/monteverdi')):
            if f.endswith('.mxl'):
                s=converter.parse(ROOT+'/monteverdi/'+f); dump(out,'monteverdi/'+f,'madrigal',s,final_label)
    if kind=='palestrina':
        fs=sorted(f for f in os.listdir(ROOT+'/palestrina') if f.endswith('.krn')); test=[u.split('/')[1] for u in truth if u.startswith('palestrina/')]
        fs=random.sample(fs,160)+test
        for f in dict.fromkeys(fs):
            txt=open(ROOT+'/palestrina/'+f,'rb').read().decode('latin1')
            m=re.search(r'\*([A-Ga-g][-#]?):(\w{3})',txt)
            if not m: continue
            sc=m[2]; mode={'ion':'major','mix':'major','lyd':'major'}.get(sc,'minor')
            try: s=converter.parse(ROOT+'/palestrina/'+f)
            except Exception as e: print(f,e); continue
            dump(out,'palestrina/'+f,'palestrina',s,(fifths(m[1]),mode,{'ion':'maj'}.get(sc,sc),'kern'))
    if kind in('abc','essen'):
        dirs=['oneills1850','ryansMammoth','airdsAirs','miscFolk'] if kind=='abc' else ['essenFolksong']
        todo=[]
        for d in dirs:
            for f in sorted(os.listdir(ROOT+'/'+d)):
                if not f.endswith('.abc'): continue
                txt=open(f'{ROOT}/{d}/{f}','rb').read().decode('utf8','replace').replace('\r','')
                tunes=re.split(r'(?m)^(?=X: *\d+)',txt)
                tunes=[t for t in tunes if re.match(r'X: *\d+',t)]
                for t in tunes:
                    x=re.match(r'X: *(\d+)',t)[1]
                    u=f'{d}/{f}'+(f'#{x}' if len(tunes)>1 else '')
                    todo.append((d,u,t))
        def kfield(t):
            m=re.search(r'(?m)^K: *([A-G])([b#]?) *([A-Za-z]*)',t)
            if not m: return None
            md=m[3].lower(); md='min' if md=='m' else md[:3]
            if md not in ABR: return None
            return fifths(m[1]+m[2]),ABR[md]
        rare=[x for x in todo if (k:=kfield(x[2])) and k[1] not in('maj',)]
        com=[x for x in todo if (k:=kfield(x[2])) and k[1]=='maj']
        if kind=='abc': pick=random.sample(rare,min(len(rare),450))+random.sample(com,550)
        else: pick=random.sample(todo,700)
        pick+=[x for x in todo if x[1] in truth]
        seen=set()
        for d,u,t in pick:
            if u in seen: continue
            seen.add(u); k=kfield(t)
            if not k or k[1]=='loc': continue
            try:
                s=converter.parse(t,format='abc')
                if isinstance(s,stream.Opus): s=s.scores[0]
                if u in truth:
                    r=truth[u][0]; lab=(fifths(r['tonic'].replace('-','b')),r['mode'],r['scale'],'truth')
                elif kind=='abc': lab=(k[0],COARSE[k[1]],k[1],'K')
                else:
                    w={}
                    for n in s.flatten().notes:
                        for x in n.pitches: w[fifths(x.name)]=w.get(fifths(x.name),0)+float(n.quarterLength)
                    a,b=w.get(k[0]+4,0),w.get(k[0]-3,0)
                    if a==b: continue
                    lab=(k[0],'major' if a>b else 'minor','maj' if a>b else 'min','essen')
                dump(out,u,kind,s,lab)
            except Exception as e: print(u,repr(e)[:100])
if __name__=='__main__':
    for k in sys.argv[2:]:
        print('==',k,flush=True); main(k)
