"""How does a line of ours reach the first foreign engraver? As MEI, with an id on everything we must find again.

Source: MEI 5.0 guidelines, chapters CMN and shared elements.
"""

from labels import CLEF_BOTTOM

STEP = "cdefgab"
OFF_FEATURES = {"after_grace", "bare_tuplet"}
ARTIC = {"staccato": "stacc", "tenuto": "ten", "accent": "acc", "marcato": "marc", "staccatissimo": "stacciss",
         "upbow": "upbow", "downbow": "dnbow", "harmonic": "harm", "stopped": "stop"}
BAR = {"double": "dbl", "final": "end", "rep_end": "rptend", "dashed": "dashed"}
ORN = {"trill": ("trill", ""), "mordent": ("mordent", ' form="lower"'), "shorttrill": ("mordent", ' form="upper"'),
       "turn": ("turn", ' form="upper"'), "invturn": ("turn", ' form="lower"')}


def clef_xml(c, xid=""):
    if c == "perc":
        return f'<clef{xid} shape="perc"/>'
    dis = {"v": ' dis="8" dis.place="below"', "^": ' dis="8" dis.place="above"'}.get(c[2:], "")
    return f'<clef{xid} shape="{c[0]}" line="{c[1]}"{dis}/>'


def key_xml(k, cancel=False):
    sig = f"{abs(k)}{'s' if k > 0 else 'f'}" if k else "0"
    return f'<keySig sig="{sig}"{" cancelaccid=" + chr(34) + "before" + chr(34) if cancel else ""}/>'


def metre_xml(m):
    if isinstance(m, str):
        return f'<meterSig count="{4 if m == "C" else 2}" unit="{4 if m == "C" else 2}" sym="{"common" if m == "C" else "cut"}"/>'
    return f'<meterSig count="{m[0]}" unit="{m[1]}"/>'


class Writer:
    """Keeps `events` (id → Ev) and `controls` (id → what it is)."""

    def __init__(self, rng):
        self.rng, self.n = rng, 0
        self.events, self.controls, self.bars = {}, {}, {}
        self.tail = []
        self.trem_as_btrem = rng.random() < .3
        self.place_dyn = "above" if rng.random() < .06 else "below"

    def new(self, p):
        self.n += 1
        return f"{p}{self.n}"

    def note(self, h, e, inner=False):
        """A head alone, or inside its chord (then without length)."""
        a = f'pname="{STEP[h.dp % 7]}" oct="{h.dp // 7}"'
        if h.shape != "normal":
            a += f' head.shape="{h.shape}"'
        body = ""
        if h.acc:
            body += f'<accid accid="{h.acc}"{" enclose=" + chr(34) + "paren" + chr(34) if h.paren else ""}/>'
        h.id = self.new("h")
        if not inner:
            return a, body
        return f'<note xml:id="{h.id}" {a}>{body}</note>'

    def event(self, e, m):
        e.id = self.new("e")
        self.events[e.id] = e
        e.mei_id = e.id
        ln = f'dur="{e.type}"' + (f' dots="{e.dots}"' if e.dots else "")
        if e.full_bar:
            return f'<mRest xml:id="{e.id}"/>'
        if e.rest:
            s = f'<rest xml:id="{e.id}" {ln}/>'
        else:
            art = "".join(f'<artic artic="{ARTIC[x]}"/>' for x in sorted(e.marks) if x in ARTIC)
            gr = ""
            if e.grace:
                gr = ' grace="unacc"' if e.slash else ' grace="acc"'
                if e.slash and e.beam is None:
                    gr += ' stem.mod="1slash"'
            tr = f' stem.mod="{e.trem}slash"' if e.trem else ""
            if len(e.heads) == 1:
                a, body = self.note(e.heads[0], e)
                e.heads[0].id = e.id
                s = f'<note xml:id="{e.id}" {a} {ln}{gr}{tr}>{body}{art}</note>'
            else:
                s = f'<chord xml:id="{e.id}" {ln}{gr}{tr}>{art}{"".join(self.note(h, e, True) for h in e.heads)}</chord>'
        if not e.grace:
            self.attached(e, m)
        return s

    def control(self, kind, **info):
        i = self.new("c")
        self.controls[i] = dict(kind=kind, **info)
        return i

    def attached(self, e, m):
        """Signs of one event, as control elements of its measure."""
        i = e.id
        if "fermata" in e.marks:
            m.append(f'<fermata xml:id="{self.control("fermata")}" startid="#{i}"/>')
        if e.orn:
            tag, form = ORN[e.orn]
            acc = f' accidupper="{e.ornacc}"' if e.ornacc else ""
            self.pending_trill = None
            c = self.control("orn", line=e.trill_line, ev=e)
            if e.trill_line:
                m.append(lambda nxt, c=c, acc=acc: f'<trill xml:id="{c}" startid="#{i}"{acc} extender="true" endid="#{nxt}"/>')
                self.trills.append((len(m) - 1, m, e))
            else:
                m.append(f'<{tag} xml:id="{c}" startid="#{i}"{form}{acc}/>')
        for h in e.heads:
            if h.finger is not None:
                m.append(f'<fing xml:id="{self.control("fing")}" startid="#{i}" place="above">{h.finger}</fing>')
        if e.breath:
            m.append(f'<{"breath" if e.breath == "breath" else "caesura"} xml:id="{self.control(e.breath)}" startid="#{i}"/>')
        if e.arpeggio:
            m.append(f'<arpeg xml:id="{self.control("arp")}" plist="#{i}"/>')
        for d in e.dyn:
            m.append(f'<dynam xml:id="{self.control("dyn", name=d)}" staff="1" startid="#{i}" place="{self.place_dyn}">{d}</dynam>')

    def voice(self, v, m):
        """Events nested in tuplets and beams."""
        for k, e in enumerate(v):
            if e.beam is not None and k and v[k - 1].beam == e.beam:
                e.graces = []
            if e.rest:
                e.graces = []
            if len(e.graces) > 1:
                e.graces[0].slash = False
            if e.type in ("1", "breve"):
                e.trem = 0
        spans, stack = [], []
        for k, e in enumerate(v):
            for t in e.tups:
                stack.append((t, k))
            for _ in range(e.tup_end):
                t, a = stack.pop()
                spans.append((a, k, 0, t))
        k = 0
        while k < len(v):
            j = k
            while v[k].beam is not None and j + 1 < len(v) and v[j + 1].beam == v[k].beam:
                j += 1
            if j > k and not any(a < k <= b < j or k < a <= j < b for a, b, _, _ in spans):
                spans.append((k, j, 1, None))
            k = j + 1
        opens, closes = {}, {}
        for sp in sorted(spans, key=lambda s: (s[0], -s[1], s[2])):
            opens.setdefault(sp[0], []).append(sp)
            closes.setdefault(sp[1], []).append(sp)
        out = []
        for k, e in enumerate(v):
            for a, b, kind, t in opens.get(k, []):
                if kind == 0:
                    vis = "" if t.shown else ' num.visible="false" bracket.visible="false"'
                    if t.shown and self.rng.random() < .1:
                        vis = ' bracket.visible="true"'
                    out.append(f'<tuplet num="{t.num}" numbase="{t.base}"{vis}>')
                else:
                    pre = "".join(self.grace(e, m)) if e.clef_before is None else ""
                    if pre:
                        out.append(pre)
                        e.graces_done = True
                    out.append(f'<beam>')
            if e.clef_before:
                out.append(clef_xml(e.clef_before, f' xml:id="{self.new("k")}"'))
            if not getattr(e, "graces_done", False):
                out += self.grace(e, m)
            out.append(self.event(e, m))
            for sp in reversed(closes.get(k, [])):
                out.append("</tuplet>" if sp[2] == 0 else "</beam>")
        return "".join(out)

    def furniture(self, k):
        """Words, tempo and rehearsal letters: there to be passed over."""
        rng, out = self.rng, []
        if rng.random() < (.5 if k == 0 else .04):
            note = rng.choice(["\ue1d5", "\ue1d5", "\ue1d7", "\ue1d3"]) + rng.choice(["", "", "\ue1e7"])
            lead = rng.choice(["", "Allegro ", "Andante ", "Lento ", "Vivace ", "Moderato "])
            out.append(f'<tempo tstamp="1" staff="1" place="above">{lead}<rend fontfam="smufl">{note}</rend> = {rng.randrange(40, 200)}</tempo>')
        if rng.random() < .06:
            out.append(f'<dir tstamp="{rng.choice([1, 1, 2])}" staff="1" place="{rng.choice(["above", "below", "below"])}">'
                       + rng.choice(["dolce", "espress.", "cresc.", "dim.", "rit.", "a tempo", "legato", "pizz.", "arco", "cantabile", "Fine", "D.C. al Fine",
                                     "sempre", "Solo", "simile", "leggiero", "D.S. al Coda", "molto rit.", "marcato"]) + "</dir>")
        if rng.random() < .03:
            out.append(f'<reh tstamp="1" staff="1" place="above">{rng.choice("ABCDEFGH")}</reh>')
        return out

    def grace(self, e, m):
        if not e.graces:
            return []
        inner = "".join(self.event(g, m) for g in e.graces)
        if len(e.graces) > 1:
            return [f'<graceGrp grace="{"unacc" if e.graces[0].slash else "acc"}"><beam>{inner}</beam></graceGrp>']
        return [inner]

    def document(self, line):
        self.trills = []
        measures, out = [], []
        seq_all = []
        for k, b in enumerate(line.bars):
            m = []
            layers = []
            for vi, v in enumerate(b.voices[:2]):
                layers.append(f'<layer n="{vi + 1}">' + self.voice(v, m))
            if b.mrest:
                i = self.new("e")
                layers = [f'<layer n="1"><multiRest xml:id="{i}" num="{b.mrest}"/>']
                self.events[i] = b
            elif b.mrepeat:
                i = self.new("e")
                layers = [f'<layer n="1"><mRpt xml:id="{i}"/>']
                self.events[i] = b
            measures.append((b, layers, m))
        self.span_controls(line, measures)
        for k, (b, layers, m) in enumerate(measures):
            nxt = line.bars[k + 1] if k + 1 < len(line.bars) else None
            if nxt is not None and nxt.clef:
                layers[0] += clef_xml(nxt.clef, f' xml:id="{self.new("k")}"')
            if getattr(self, "words", False):
                m += self.furniture(k)
            if b.road:
                ts = "1" if self.rng.random() < .75 else "0"
                c = self.control("road", name=b.road)
                m.append(f'<repeatMark xml:id="{c}" func="{b.road}" tstamp="{ts}" staff="1" place="above"/>')
            left = right = ""
            prev = line.bars[k - 1].right if k else ("rep_start" if line.start_repeat else "single")
            if prev in ("rep_start", "rep_both"):
                left = ' left="rptstart"'
            r = b.right
            if r == "rep_both":
                right = ' right="rptend"'
            elif r in BAR:
                right = f' right="{BAR[r]}"'
            if k and (b.key is not None or b.metre):
                out.append("<scoreDef>" + (key_xml(b.key, b.cancel) if b.key is not None else "")
                           + (metre_xml(b.metre) if b.metre else "") + "</scoreDef>")
            if b.volta:
                t = {"v1": "1.", "v2": "2.", "v3": "3.", "v4": "4.", "v12": "1.2.", "v123": "1.2.3.", "v34": "3.4."}[b.volta]
                if self.rng.random() < .3:
                    t = t.replace(".2", "., 2").replace(".3", "., 3").replace(".4", "., 4")
                c = self.new("v")
                self.controls[c] = dict(kind="volta", name=b.volta)
                out.append(f'<ending xml:id="{c}" n="{t}">')
                self.open_volta = c
            mid = self.new("m")
            self.bars[mid] = b
            ls = "".join(x + "</layer>" for x in layers)
            texts = "".join(x if isinstance(x, str) else "" for x in m)
            fm = ""
            if b.bar_fermata:
                fm = f'<fermata xml:id="{self.control("barfermata")}" tstamp="{self.beats(line, k) + 1}" staff="1"/>' if False else ""
            out.append(f'<measure xml:id="{mid}" n="{k + 1}"{left}{right}><staff n="1">{ls}</staff>{texts}{fm}</measure>')
            if b.volta_end and any(x.volta for x in line.bars[:k + 1]) and getattr(self, "open_volta", None):
                out.append("</ending>")
                self.controls[self.open_volta]["last"] = mid
                self.open_volta = None
        if getattr(self, "open_volta", None):
            out.append("</ending>")
        head = ('<?xml version="1.0"?><mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead/><music><body><mdiv>'
                '<score><scoreDef><staffGrp><staffDef n="1" lines="5">' + clef_xml(line.clef) + key_xml(line.key)
                + metre_xml(line.metre) + '</staffDef></staffGrp></scoreDef><section>')
        return head + "".join(out) + "</section></score></mdiv></body></mei></music>".replace("</mei></music>", "</music></mei>")

    def span_controls(self, line, measures):
        """Slurs, ties, hairpins, ottavas and trill lines, each in the measure where it starts."""
        seq = [(e, m) for b, _, m in measures for v in b.voices[:1] for e in v]
        for at, m, e in self.trills:
            k = next(i for i, (x, _) in enumerate(seq) if x is e)
            f = m[at]
            m[at] = f(seq[k + 1][0].id) if k + 1 < len(seq) and not seq[k + 1][0].full_bar else f(e.id)
        open_slur = hair = ott = None
        for k, (e, m) in enumerate(seq):
            for x in e.graces:
                if x.slur_start:
                    c = self.control("slur")
                    x.slur_id = e.grace_slur_id = c
                    m.append(f'<slur xml:id="{c}" startid="#{x.id}" endid="#{e.id}"/>')
            if e.slur_end and not getattr(e, "grace_slur_id", None):
                if open_slur:
                    s, sm = open_slur
                    c = self.control("slur")
                    s.slur_id = e.slur_end_id = c
                    sm.append(f'<slur xml:id="{c}" startid="#{s.id}" endid="#{e.id}"/>')
                    open_slur = None
            if e.slur_start:
                open_slur = (e, m)
            if e.hair_end and hair:
                s, sm = hair
                c = self.control("hair", name=s.hair_start)
                sm.append(f'<hairpin xml:id="{c}" form="{"cres" if s.hair_start == "cresc" else "dim"}" startid="#{s.id}" endid="#{e.id}" '
                          f'staff="1" place="{self.place_dyn}"/>')
                hair = None
            if e.hair_start:
                hair = (e, m)
            if e.ott_start:
                ott = (e, m)
            if e.ott_end and ott:
                s, sm = ott
                kind = s.ott_start
                c = self.control("ott", name=kind)
                sm.append(f'<octave xml:id="{c}" dis="{15 if "15" in kind else 8}" dis.place="{"above" if kind.endswith("a") else "below"}" '
                          f'startid="#{s.id}" endid="#{e.id}" staff="1"/>')
                ott = None
        for vi in (0, 1):
            vs = [(e, m) for b, _, m in measures for v in b.voices[vi:vi + 1] for e in v]
            for (a, m), (b, _) in zip(vs, vs[1:]):
                for h in a.heads:
                    h.tie_id = None
                    if h.tie and not b.rest:
                        q = next((x for x in b.heads if x.dp == h.dp), None)
                        if q is not None:
                            h.tie_id = self.control("tie")
                            m.append(f'<tie xml:id="{h.tie_id}" startid="#{h.id}" endid="#{q.id}"/>')
