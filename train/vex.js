// How does the second foreign engraver set our line? Lays the bars out in systems with the library's own
// classes and records every stroke; answers with the strokes and, for each thing on the staff, its place.
const V = module.exports.Flow || module.exports.default.Flow || module.exports;
const KEYS = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"];
const CLEFS = {G2: ["treble"], G2v: ["treble", "8vb"], "G2^": ["treble", "8va"], G1: ["french"], F4: ["bass"], F4v: ["bass", "8vb"],
  F3: ["baritone-f"], F5: ["subbass"], C1: ["soprano"], C2: ["mezzo-soprano"], C3: ["alto"], C4: ["tenor"], C5: ["baritone-c"]};
const ART = {staccato: "a.", tenuto: "a-", accent: "a>", marcato: "a^", staccatissimo: "av", upbow: "a|", downbow: "am", harmonic: "ah", stopped: "a+"};
const ORN = {trill: "tr", shorttrill: "mordent", mordent: "mordent_inverted", turn: "turn"};
const DYN = {p: "dynamicPiano", m: "dynamicMezzo", f: "dynamicForte", r: "dynamicRinforzando", s: "dynamicSforzando", z: "dynamicZ"};
const STEP = "cdefgab";

class Rec extends V.RenderContext {
  constructor() { super(); this.reset(); }
  reset() { this.ops = []; this.cur = []; this.lw = 1; this.dash = null; this.size = 10; this.box = [1e9, -1e9, 1e9, -1e9]; this.fnt = {family: "Times", size: 10, weight: "normal", style: "normal"}; }
  grow(x, y) { const b = this.box; b[0] = Math.min(b[0], x); b[1] = Math.max(b[1], x); b[2] = Math.min(b[2], y); b[3] = Math.max(b[3], y); }
  clear() {} setFillStyle() { return this; } setBackgroundFillStyle() { return this; } setStrokeStyle() { return this; } setShadowColor() { return this; }
  setShadowBlur() { return this; } setLineWidth(w) { this.lw = w; return this; } setLineCap() { return this; } setLineDash(d) { this.dash = d && d.length ? d : null; return this; }
  scale() { return this; } resize() { return this; } clearRect() { return this; }
  rect(x, y, w, h) { this.cur.push([x, y, x + w, y, x + w, y + h, x, y + h]); return this; }
  fillRect(x, y, w, h) { this.grow(x, y); this.grow(x + w, y + h); this.ops.push(["f", [[x, y, x + w, y, x + w, y + h, x, y + h]]]); return this; }
  beginPath() { this.cur = []; return this; }
  moveTo(x, y) { this.cur.push([x, y]); return this; }
  last() { if (!this.cur.length) this.cur.push([0, 0]); return this.cur[this.cur.length - 1]; }
  lineTo(x, y) { this.last().push(x, y); return this; }
  bezierCurveTo(x1, y1, x2, y2, x, y) { const c = this.last(), n = c.length, x0 = c[n - 2], y0 = c[n - 1];
    const k = Math.abs(x - x0) + Math.abs(y - y0) > 30 ? 16 : 5;
    for (let i = 1; i <= k; i++) { const t = i / k, u = 1 - t; c.push(u * u * u * x0 + 3 * u * u * t * x1 + 3 * u * t * t * x2 + t * t * t * x, u * u * u * y0 + 3 * u * u * t * y1 + 3 * u * t * t * y2 + t * t * t * y); } return this; }
  quadraticCurveTo(x1, y1, x, y) { const c = this.last(), n = c.length, x0 = c[n - 2], y0 = c[n - 1];
    const k = Math.abs(x - x0) + Math.abs(y - y0) > 30 ? 16 : 5;
    for (let i = 1; i <= k; i++) { const t = i / k, u = 1 - t; c.push(u * u * x0 + 2 * u * t * x1 + t * t * x, u * u * y0 + 2 * u * t * y1 + t * t * y); } return this; }
  arc(x, y, r, a, b) { const p = []; for (let i = 0; i <= 12; i++) { const t = a + (b - a) * i / 12; p.push(x + r * Math.cos(t), y + r * Math.sin(t)); } this.cur.push(p); return this; }
  fill() { const c = this.cur.filter(p => p.length > 4); if (c.length) { for (const p of c) for (let i = 0; i < p.length; i += 2) this.grow(p[i], p[i + 1]); this.ops.push(["f", c.map(p => p.map(v => Math.round(v * 100) / 100))]); } return this; }
  stroke() { for (const p of this.cur) if (p.length > 2) { for (let i = 0; i < p.length; i += 2) this.grow(p[i], p[i + 1]); this.ops.push(["s", this.lw, p, this.dash]); } return this; }
  closePath() { if (this.cur.length) { const c = this.last(); c.push(c[0], c[1]); } return this; }
  measureText(t) { const s = this.px(); return {width: t.length * s * .52, height: s, x: 0, y: 0}; }
  px() { const s = String(this.fnt.size); return s.endsWith("px") ? parseFloat(s) : parseFloat(s) * 4 / 3; }
  fillText(t, x, y) { const s = this.px(); this.grow(x, y - s * .7); this.grow(x + t.length * s * .5, y); this.ops.push(["t", t, x, y, s, /italic/.test(this.fnt.style || ""), /bold/.test(this.fnt.weight || "")]); return this; }
  save() { this.stack = this.stack || []; this.stack.push([this.lw, this.dash, this.fnt]); return this; }
  restore() { const s = (this.stack || []).pop(); if (s) [this.lw, this.dash, this.fnt] = s; return this; }
  openGroup() {} closeGroup() {} add() {}
  set fillStyle(v) {} get fillStyle() { return "#000"; } set strokeStyle(v) {} get strokeStyle() { return "#000"; }
  setFont(f, size, weight, style) { this.fnt = typeof f === "object" ? Object.assign({}, this.fnt, f) : {family: f, size: size || 10, weight: weight || "normal", style: style || "normal"}; return this; }
  setRawFont() { return this; } getFont() { return "10pt Times"; } get font() { return "10pt Times"; } set font(v) {}
}

const ctx = new Rec();
function boxed(fn) { const save = ctx.box; ctx.box = [1e9, -1e9, 1e9, -1e9]; fn(); const b = ctx.box; ctx.box = save; return b; }

function keyName(dp, clef) { const sh = {G2v: 7, "G2^": -7, F4v: 7}[clef] || 0; const d = dp + sh; return STEP[((d % 7) + 7) % 7] + "/" + Math.floor(d / 7); }
function baseClef(c) { return (CLEFS[c] || ["treble"])[0]; }

function makeNote(e, clef, st) {
  const dur = e.type === "breve" ? "1/2" : e.type;
  const spec = {clef: e.rest ? "treble" : baseClef(clef), duration: dur, dots: e.dots, auto_stem: true};
  if (e.rest) { spec.keys = [e.type === "1" || e.type === "breve" ? "d/5" : "b/4"]; spec.type = "r"; spec.auto_stem = false; if (e.full) spec.align_center = st.centreRest; }
  else spec.keys = e.heads.map(h => keyName(h.dp, clef));
  if (e.grace) spec.slash = e.slash;
  const n = e.grace ? new V.GraceNote(spec) : new V.StaveNote(spec);
  if (!e.rest) e.heads.forEach((h, i) => { if (h.acc) { const a = new V.Accidental({s: "#", f: "b", n: "n", x: "##", ff: "bb"}[h.acc]); if (h.paren) a.setAsCautionary(); n.addModifier(a, i); }
    if (h.finger !== null) { const f = new V.FretHandFinger(String(h.finger)); f.setPosition(3); n.addModifier(f, i); } });
  if (e.dots) for (let i = 0; i < e.dots; i++) V.Dot.buildAndAttach([n], {all: true});
  return n;
}

function marks(n, e, st) {
  const up = n.getStemDirection() === 1;
  for (const m of e.marks) if (ART[m] && !e.rest) { const a = new V.Articulation(ART[m]); a.setPosition("upbow downbow harmonic stopped".includes(m) || (m === "marcato" && st.marcUp) ? 3 : (up !== st.artFlip ? 4 : 3)); n.addModifier(a, 0); }
  if (e.marks.includes("fermata")) { const a = new V.Articulation("a@a"); a.setPosition(3); n.addModifier(a, 0); }
  if (e.orn) { const o = new V.Ornament(ORN[e.orn]); if (e.ornacc) o.setUpperAccidental({s: "#", f: "b", n: "n"}[e.ornacc]); n.addModifier(o, 0); }
  if (e.trem) n.addModifier(new V.Tremolo(e.trem), 0);
}

function layout(inp) {
  const st = inp.style, out = [];
  V.setMusicFont(st.font);
  let clef = inp.clef, key = inp.key, metre = inp.metre, i = 0, pendSlur = null, pendTie = null, pendHair = null;
  const W = st.width * 10;
  while (i < inp.bars.length) {
    ctx.reset();
    const sys = {tokens: [], B: [], C: [], bars: []};
    let total = 0, first = true;
    const ms = [];
    let c = clef, k = key, m = metre, j = i;
    while (j < inp.bars.length) {
      const b = inp.bars[j];
      const c0 = b.clef || c, k0 = b.key !== null ? b.key : k, m0 = b.metre || m;
      const rec = {b, j, clef: c0, notes: [], heads: []};
      const stave = new V.Stave(0, 0, 300, {left_bar: true, right_bar: true});
      rec.stave = stave;
      const head = [];
      if (first) {
        stave.addClef(CLEFS[c0][0], undefined, CLEFS[c0][1]); head.push(["clef", c0]);
        if (k0) { stave.addKeySignature(KEYS[k0 + 7]); head.push(["key", k0, false]); }
        else if (j > 0 && b.key !== null) { stave.addKeySignature("C", KEYS[k + 7]); head.push(["key", 0, true]); }
        if (j === 0 || b.metre) { stave.addTimeSignature(metreStr(m0)); head.push(["metre", m0]); }
      } else {
        if (b.key !== null) { const canc = b.cancel || k0 === 0; stave.addKeySignature(KEYS[k0 + 7], canc ? KEYS[k + 7] : undefined); head.push(["key", k0, canc]); }
        if (b.metre) { stave.addTimeSignature(metreStr(m0)); head.push(["metre", m0]); }
      }
      const prev = j > 0 ? inp.bars[j - 1].right : (inp.startRepeat ? "rep_start" : "single");
      rec.begRepeat = prev === "rep_start" || prev === "rep_both";
      stave.setBegBarType(rec.begRepeat ? V.Barline.type.REPEAT_BEGIN : (first && st.firstBar ? V.Barline.type.SINGLE : V.Barline.type.NONE));
      rec.head = head;
      // Notes.
      let cc = c0, tick = [];
      const evs = b.evs;
      if (b.mrest || b.mrepeat) rec.min = 70;
      else {
        for (const e of evs) {
          if (e.clef) { const cn = new V.ClefNote(CLEFS[e.clef][0], "small", CLEFS[e.clef][1]); tick.push(cn); rec.notes.push({clefnote: cn, v: e.clef}); cc = e.clef; }
          const n = makeNote(e, cc, st);
          tick.push(n);
          rec.notes.push({n, e, clef: cc});
        }
        const ns = rec.notes.filter(x => x.n);
        rec.beams = b.beams.map(g => new V.Beam(g.map(q => ns[q].n), true, {beam_width: st.beamW}));
        rec.beams.forEach(x => { x.render_options.beam_width = st.beamW; x.render_options.max_slope = st.slope; x.render_options.min_slope = -st.slope; x.render_options.flat_beams = st.flat; });
        for (const x of ns) {
          marks(x.n, x.e, st);
          if (x.e.graces.length) {
            x.g = x.e.graces.map(g => makeNote(g, x.clef, st));
            const gg = new V.GraceNoteGroup(x.g, x.e.graces[0].slur);
            if (x.g.length > 1) gg.beamNotes();
            x.n.addModifier(gg, 0);
          }
        }
        rec.tups = b.tups.map(t => new V.Tuplet(ns.slice(t.a, t.z + 1).map(x => x.n), {num_notes: t.num, notes_occupied: t.base, bracketed: t.bracket, ratioed: t.ratio,
          location: st.tupLoc || (ns.slice(t.a, t.z + 1).reduce((s, x) => s + x.n.getStemDirection(), 0) >= 0 ? 1 : -1)}));
        const voice = new V.Voice(V.TIME4_4).setMode(V.Voice.Mode.SOFT);
        voice.addTickables(tick);
        rec.voice = voice;
        rec.fmt = new V.Formatter({softmaxFactor: st.softmax});
        rec.fmt.joinVoices([voice]);
        rec.min = Math.max(40, rec.fmt.preCalculateMinTotalWidth([voice]) * st.density);
      }
      stave.setX(0); stave.format();
      rec.lead = stave.getNoteStartX() - stave.getX();
      rec.w = rec.lead + rec.min + 20 + (b.right === "single" ? 0 : 14);
      if (total + rec.w > W && ms.length) break;
      total += rec.w; ms.push(rec);
      c = cc; k = k0; m = m0;
      first = false; j++;
    }
    // Courtesy signs of the next system.
    const last = ms[ms.length - 1], nb = inp.bars[j];
    for (let q = 0; q < ms.length; q++) {
      const r = ms[q], nxt = q + 1 < ms.length ? ms[q + 1].b : nb;
      let kind = r.b.right;
      const end = q + 1 === ms.length;
      if (kind === "rep_start") kind = end ? "single" : "none";
      if (kind === "rep_both") kind = end ? "rep_end" : "rep_both";
      r.kind = kind;
      const T = V.Barline.type;
      r.stave.setEndBarType({single: T.SINGLE, double: T.DOUBLE, final: T.END, rep_end: T.REPEAT_END, rep_both: T.REPEAT_END, none: T.NONE}[kind]);
      r.tail = [];
      if (nxt && nxt.clef) { r.stave.setEndClef(CLEFS[nxt.clef][0], "small", CLEFS[nxt.clef][1]); r.tail.push(["clef", nxt.clef]); r.w += 30; total += 30; }
      if (end && nxt && nxt.key !== null) { const canc = nxt.cancel || nxt.key === 0; r.stave.setEndKeySignature(KEYS[nxt.key + 7], canc ? KEYS[k + 7] : undefined); r.tail2 = [["key", nxt.key, canc]]; const d = 14 * (Math.abs(nxt.key) + (canc ? Math.abs(k) : 0)) + 20; r.w += d; total += d; }
      if (end && nxt && nxt.metre) { r.stave.setEndTimeSignature(metreStr(nxt.metre)); (r.tail2 = r.tail2 || []).push(["metre", nxt.metre]); r.w += 35; total += 35; }
    }
    const stretch = j < inp.bars.length || st.justifyLast ? Math.max(1, W / total) : 1;
    let x = 20;
    for (const r of ms) {
      const w = r.w * stretch;
      r.stave.setX(x); r.stave.setY(100); r.stave.setWidth(w); r.stave.setContext(ctx);
      x += w;
    }
    for (let q = 0; q < ms.length; q++) {
      const r = ms[q], b = r.b, s = r.stave;
      const voltaB = b.volta !== null, inV = b.inVolta;
      if (inV) {
        const VT = V.Volta.type, one = voltaB && b.voltaEnd;
        s.setVoltaType(one ? VT.BEGIN_END : voltaB ? VT.BEGIN : b.voltaEnd ? VT.END : VT.MID, b.voltaText || "", st.voltaY);
      }
      if (b.road) s.setRepetitionType(b.road === "segno" ? V.Repetition.type.SEGNO_LEFT : V.Repetition.type.CODA_LEFT, st.roadY);
      if (st.barNumbers) s.setMeasure(r.j + 1);
      s.draw();
      const lab = s.getNoteStartX();
      r.head.forEach((h, z) => sys.tokens.push([h[0], h[1], h[2] || false, s.getX() + (lab - s.getX()) * (z + .6) / (r.head.length + (r.begRepeat ? 1 : 0) + .2)]));
      if (r.begRepeat && !(q > 0 && ms[q - 1].kind === "rep_both")) sys.tokens.push(["bar", "rep_start", false, q === 0 && r.head.length ? lab - 10 : s.getX() + 5]);
      if (b.road) sys.B.push([b.road, s.getX() + 8]);
      if (inV) { if (voltaB) sys.B.push([b.volta, s.getX() + 5]); if (b.voltaEnd) sys.B.push(["vend", s.getX() + s.getWidth() - 3]); }
      if (b.mrest) {
        const mr = new V.MultiMeasureRest(b.mrest, {number_of_measures: b.mrest, use_symbols: st.mrestSymbols, show_number: true, number_line: st.mrestLine, line_thickness: st.mrestThick, number_glyph_point: st.mrestNum});
        mr.setStave(s); mr.setContext(ctx);
        const bb = boxed(() => mr.draw());
        sys.tokens.push(["mrest", b.mrest, false, (bb[0] + bb[1]) / 2]);
      } else if (b.mrepeat) {
        const mid = (s.getNoteStartX() + s.getNoteEndX()) / 2;
        V.Glyph.renderGlyph(ctx, mid - 10, s.getYForLine(2), 40, "repeat1Bar");
        sys.tokens.push(["mrepeat", 0, false, mid]);
      } else {
        r.fmt.format([r.voice], Math.max(r.min * .8, s.getNoteEndX() - s.getNoteStartX() - 12), {align_rests: false, context: ctx, stave: s});
        r.voice.draw(ctx, s);
        r.beams.forEach(z => z.setContext(ctx).draw());
        r.tups.forEach(z => z.setContext(ctx).draw());
        for (const o of r.notes) {
          if (o.clefnote) { sys.tokens.push(["clef", o.v, false, o.clefnote.getAbsoluteX() + 8]); continue; }
          (o.g || []).forEach((g, z) => sys.tokens.push(["grace", o.e.id, z, g.getAbsoluteX() + 4]));
          sys.tokens.push(["ev", o.e.id, false, (o.e.rest ? o.n.getAbsoluteX() : o.n.getNoteHeadBeginX()) + 6]);
        }
      }
      for (const t of r.tail) sys.tokens.push([t[0], t[1], false, x === 0 ? 0 : s.getX() + s.getWidth() - 16]);
      if (r.kind !== "none") sys.tokens.push(["bar", r.kind, false, s.getX() + s.getWidth() - 2 - (q + 1 === ms.length && r.tail2 ? 20 : 0)]);
      (r.tail2 || []).forEach((t, z) => sys.tokens.push([t[0], t[1], t[2] || false, s.getX() + s.getWidth() - 10 + 8 * z]));
    }
    // Lines between notes.
    const flat = [];
    for (const r of ms) for (const o of r.notes) if (o.n) flat.push({n: o.n, e: o.e, s: r.stave});
    flat.forEach((o, z) => { o.z = z; });
    const s0 = ms[0].stave, s1 = ms[ms.length - 1].stave;
    if (pendTie !== null && flat.length && !flat[0].e.rest && !flat[0].e.graces.length) {
      const idx = flat[0].e.heads.map((h, q) => pendTie.includes(h.dp) ? q : -1).filter(q => q >= 0);
      if (idx.length) new V.StaveTie({last_note: flat[0].n, last_indices: idx, first_indices: idx}).setContext(ctx).draw();
    }
    pendTie = null;
    flat.forEach((o, z) => {
      const tied = (o.e.heads || []).map((h, q) => h.tie ? q : -1).filter(q => q >= 0);
      if (tied.length) {
        const nx = flat[z + 1];
        if (nx) { const li = tied.map(q => nx.e.heads.findIndex(h => h.dp === o.e.heads[q].dp)); new V.StaveTie({first_note: o.n, last_note: nx.n, first_indices: tied, last_indices: li}).setContext(ctx).draw(); }
        else { new V.StaveTie({first_note: o.n, first_indices: tied, last_indices: tied}).setContext(ctx).draw(); pendTie = tied.map(q => o.e.heads[q].dp); }
      }
    });
    let open = pendSlur ? {n: undefined} : null;
    const slur = (a, z, b) => {
      const inner = flat.slice(a.n ? a.z : 0, (b ? b.z : flat.length - 1) + 1).filter(o => !o.e.rest);
      const ups = inner.filter(o => o.n.getStemDirection() === 1).length;
      const above = ups < inner.length;
      const span = inner.length;
      const h = st.slurH * (10 + Math.min(30, span * 3));
      const P = V.Curve.Position;
      const pos = o => (o && (o.n.getStemDirection() === 1) === above) ? P.NEAR_TOP : P.NEAR_HEAD;
      const cv = new V.Curve(a.n, b ? b.n : undefined, {position: a.n ? pos(a) : pos(b), position_end: b ? pos(b) : pos(a), cps: [{x: 0, y: h}, {x: 0, y: h}], thickness: st.slurT, y_shift: st.slurGap,
        invert: a.n ? ((a.n.getStemDirection() === 1) === above ? pos(a) === P.NEAR_HEAD : pos(a) === P.NEAR_TOP) : false});
      cv.setContext(ctx).draw();
    };
    for (const o of flat) {
      if (o.e.slurEnd && open) { if (open.n || o.z >= 0) slur(open, 0, o); open = null; }
      if (o.e.slurStart) open = o;
    }
    if (open && open.n) { slur(open, 0, null); pendSlur = true; } else pendSlur = !!open;
    // Dynamics and hairpins.
    const yb = Math.max(s0.getYForLine(4) + st.dynY, Math.min(230, ...[Math.max(...flat.map(o => o.e.rest ? 0 : (o.n.getBoundingBox ? safeY(o.n) : 0)), 0) + 22]));
    for (const o of flat) for (const d of o.e.dyn) {
      let gx = o.n.getAbsoluteX() + st.dynX;
      const y = (st.dynLine ? yb : Math.max(s0.getYForLine(4) + st.dynY, (o.e.rest ? 0 : safeY(o.n)) + 20)) + 8;
      const bb = boxed(() => { for (const ch of d) { V.Glyph.renderGlyph(ctx, gx, y, st.dynSize, DYN[ch]); gx += new V.Glyph(DYN[ch], st.dynSize).getMetrics().width + 1; } });
      sys.C.push([d, (bb[0] + bb[1]) / 2, bb[2], bb[3]]);
      o.dynBox = bb;
    }
    let hair = pendHair;
    const drawHair = (kind, x0, x1, s, e) => { const y = yb + 4, h = st.hairH; ctx.setLineWidth(st.hairW); ctx.beginPath();
      const a = kind === "cresc" ? (s ? 0 : h * .3) : h, b = kind === "cresc" ? h : (e ? 0 : h * .3);
      ctx.moveTo(x0, y - a / 2).lineTo(x1, y - b / 2).stroke(); ctx.beginPath(); ctx.moveTo(x0, y + a / 2).lineTo(x1, y + b / 2).stroke();
      if (s) sys.C.push([kind, x0, y - h / 2, y + h / 2]); if (e) sys.C.push([kind + "_end", x1, y - h / 2, y + h / 2]); };
    let h0 = hair ? {kind: hair, x: s0.getNoteStartX() - 5, s: false} : null;
    for (const o of flat) {
      const nx = o.n.getAbsoluteX();
      if (o.e.hairEnd && h0) { let x1 = o.dynBox ? o.dynBox[0] - 4 : nx + st.hairEnd; if (x1 < h0.x + st.hairMin) x1 = h0.x + st.hairMin; drawHair(h0.kind, h0.x, x1, h0.s, true); h0 = null; }
      if (o.e.hairStart) h0 = {kind: o.e.hairStart, x: o.dynBox ? o.dynBox[1] + 4 : nx + st.hairStart, s: true};
    }
    if (h0) { drawHair(h0.kind, h0.x, Math.max(h0.x + 12, x - 3), h0.s, false); pendHair = h0.kind; } else pendHair = null;
    // Breath marks and ottavas.
    flat.forEach((o, z) => {
      if (o.e.breath) {
        const nxs = [...flat.slice(z + 1, z + 2).filter(q => q.s === o.s).map(q => q.n.getAbsoluteX()), o.s.getX() + o.s.getWidth()];
        const bx = Math.max(o.n.getAbsoluteX() + 14, nxs[0] - 12);
        const bb = boxed(() => V.Glyph.renderGlyph(ctx, bx, s0.getYForLine(o.e.breath === "breath" ? -.5 : 0), 38, o.e.breath === "breath" ? "breathMarkComma" : "caesura"));
        sys.B.push([o.e.breath, (bb[0] + bb[1]) / 2, bb[2], bb[3]]);
      }
    });
    let ot = null;
    for (const o of flat) {
      if (o.e.ottStart) ot = {o, kind: o.e.ottStart};
      if (o.e.ottEnd && ot) {
        const up = ot.kind.endsWith("a");
        const tb = new V.TextBracket({start: ot.o.n, stop: o.n, text: ot.kind.startsWith("15") ? "15" : "8", superscript: ot.kind.slice(-2), position: up ? 1 : -1});
        tb.setContext(ctx); tb.setLine(st.ottLine);
        const bb = boxed(() => tb.draw());
        sys.B.push([ot.kind, bb[0] + 6, bb[2], bb[3]]); sys.B.push(["ott_end", bb[1], bb[2], bb[3]]);
        ot = null;
      }
    }
    sys.ops = ctx.ops; sys.y0 = s0.getYForLine(2); sys.x0 = 0; sys.x1 = x; sys.first = i; sys.stop = j;
    out.push(sys);
    clef = c; key = k; metre = m; i = j;
  }
  return JSON.stringify(out);
}
function safeY(n) { try { const b = n.getStemExtents(); return Math.max(b.topY, b.baseY, ...n.getYs()); } catch (e) { return 0; } }
function metreStr(m) { return m === "C" ? "C" : m === "cut" ? "C|" : m[0] + "/" + m[1]; }
