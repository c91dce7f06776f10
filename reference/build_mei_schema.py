"""Where does data/mei-cmn.rng.gz come from? Made by this from a compiled ODD of the standard.

    python build_mei_schema.py mei-all_compiled.odd data/mei-cmn.rng.gz

No registry package carries MEI's RelaxNG grammars. The crate `verovio-sys` 0.3.6 carries the compiled ODD (TEI's format
for schemas) of MEI at the commit 6da4dd50 (on the way from 5.1 to 6.0), from which this takes every element, attribute,
data type and content model, without the modules for mensural notation, neumes and tablature, and writes them as one
grammar. The version labels of MEI 5 are let in besides. Schematron rules are not taken over.

The ODD is (c) the Music Encoding Initiative Board, Educational Community License 2.0; the grammar is a changed form of
it under the same licence, as its first comment says.
"""

import copy
import gzip
import sys

from lxml import etree

T = "{http://www.tei-c.org/ns/1.0}"
R = "http://relaxng.org/ns/structure/1.0"
RN = "{%s}" % R
DROP = {"MEI.mensural", "MEI.neumes", "MEI.stringtab"}
t = etree.parse(sys.argv[1])
sc = t.find(".//" + T + "schemaSpec")
E = lambda n, *c, **a: (lambda e: (e.extend(c), e)[1])(etree.Element(RN + n, **a))
specs = {"element": {}, "atts": {}, "model": {}, "dt": {}, "pe": {}}
for e in sc.iter(T + "elementSpec", T + "classSpec", T + "macroSpec"):
    if e.get("mode") == "delete" or e.get("module") in DROP:
        continue
    kind = "element" if e.tag == T + "elementSpec" else e.get("type")
    specs[kind][e.get("ident")] = e
members = {k: [] for k in specs["model"]}


def classes(e):
    return [m.get("key") for m in e.findall(T + "classes/" + T + "memberOf")]


for k in ("element", "model"):
    for n, e in specs[k].items():
        for c in classes(e):
            if c in members:
                members[c].append(n)
known = set()


def strip(e):
    if not isinstance(e.tag, str):
        return None
    if e.tag.startswith(T):
        n = e.tag[len(T) :]
        if n == "valList":
            return vallist(e)
        if n == "empty":
            return E("empty")
        if n in ("macroRef", "dataRef", "classRef", "elementRef"):
            return ref(e.get("key"))
        if n == "alternate":
            return E("choice", *[x for x in map(strip, e) if x is not None])
        if n == "sequence":
            return E("group", *[x for x in map(strip, e) if x is not None])
        if n == "textNode":
            return E("text")
        return None
    n = etree.QName(e).localname
    if n == "ref":
        return ref(e.get("name"))
    out = etree.Element(RN + n, **dict(e.attrib))
    out.text = (e.text or "").strip() or None
    if n in ("param", "value", "name"):
        out.text = e.text
    for x in e:
        y = strip(x)
        if y is not None:
            out.append(y)
    if n in ("zeroOrMore", "oneOrMore", "optional", "choice", "group") and len(out) == 0:
        return E("empty") if n != "oneOrMore" else E("notAllowed")
    return out


def ref(n):
    n = n.split("_")[-1] if n not in ("x",) else n
    for k in ("element", "model", "dt", "pe"):
        if n in specs[k]:
            return E("ref", name=n)
    return E("notAllowed")


def vallist(v):
    items = [x.get("ident") for x in v.findall(T + "valItem")]
    c = E("choice")
    for i in items:
        x = E("value")
        x.text = i
        c.append(x)
    if v.get("type") in ("open", "semi"):
        c.append(E("data", type="token"))
    return c


def content(e):
    c = e.find(T + "content")
    parts = [x for x in map(strip, c) if x is not None] if c is not None else []
    return parts or [E("empty")]


def allatts(e, seen, out):
    al = e.find(T + "attList")
    if al is not None:
        for a in al.iter(T + "attDef"):
            out[a.get("ident") if a.get("ns") is None else (a.get("ns"), a.get("ident"))] = a  # later wins; own last
    return out


def gather(e):
    out = {}
    seen = set()

    def walk(x):
        for c in classes(x):
            if c in specs["atts"] and c not in seen:
                seen.add(c)
                walk(specs["atts"][c])
        al = x.find(T + "attList")
        if al is not None:
            for a in al.iter(T + "attDef"):
                k = a.get("ident")
                if a.get("mode") == "delete":
                    out.pop(k, None)
                elif k in out and a.get("mode") == "change":
                    m = copy.deepcopy(out[k])
                    for ch in a:
                        if ch.tag in (T + "valList", T + "datatype"):
                            for old in m.findall(ch.tag):
                                m.remove(old)
                            m.append(copy.deepcopy(ch))
                    if a.get("usage"):
                        m.set("usage", a.get("usage"))
                    out[k] = m
                else:
                    out[k] = a

    walk(e)
    return out


def attribute(k, a):
    at = E("attribute", name=k)
    if a.get("ns"):
        at.set("ns", a.get("ns"))
    if k.startswith("xml:"):
        at.set("name", k)
    v = a.find(T + "valList")
    d = a.find(T + "datatype")
    if k == "meiversion":
        c = vallist(v)
        for extra in ("5.0", "5.0+CMN", "5.1", "5.1+CMN", "5.0+basic"):
            x = E("value")
            x.text = extra
            c.append(x)
        at.append(c)
    elif v is not None:
        at.append(vallist(v))
    elif d is not None:
        lo, hi = d.get("minOccurs", "1"), d.get("maxOccurs", "1")
        body = [x for x in map(strip, d) if x is not None] or [E("text")]
        if hi != "1":
            body = [E("list", E("oneOrMore", *body) if lo != "0" else E("zeroOrMore", *body))]
        at.extend(body)
    else:
        at.append(E("text"))
    return at if a.get("usage") == "req" else E("optional", at)


g = etree.Element(RN + "grammar", nsmap={None: R, "xlink": "http://www.w3.org/1999/xlink"})
g.set("datatypeLibrary", "http://www.w3.org/2001/XMLSchema-datatypes")
g.set("ns", "http://www.music-encoding.org/ns/mei")
g.append(E("start", E("ref", name="mei")))
for n, e in specs["element"].items():
    el = E("element", name=n)
    for k, a in gather(e).items():
        el.append(attribute(k, a))
    el.extend(content(e))
    g.append(E("define", el, name=n))
for n in specs["model"]:
    ms = [m for m in members[n]]
    g.append(E("define", E("choice", *[E("ref", name=m) for m in ms]) if ms else E("notAllowed"), name=n))
for k in ("dt", "pe"):
    for n, e in specs[k].items():
        g.append(E("define", *content(e), name=n))
# only what can be reached
defs = {d.get("name"): d for d in g.findall(RN + "define")}
reach = set()
todo = ["mei"]
while todo:
    n = todo.pop()
    if n in reach:
        continue
    reach.add(n)
    todo += [r.get("name") for r in defs[n].iter(RN + "ref")]
for n, d in defs.items():
    if n not in reach:
        g.remove(d)
NOTICE = """ MEI, modules for Common Western notation, as one RelaxNG grammar.
Copyright (c) 2017-2025 by the Music Encoding Initiative (MEI) Board. Licensed under the Educational Community License,
Version 2.0; https://opensource.org/licenses/ECL-2.0. Distributed on an "AS IS" BASIS, WITHOUT WARRANTIES OR CONDITIONS OF
ANY KIND. CHANGED: made from the compiled ODD of MEI 6.0-dev (commit 6da4dd50) by reference/build_mei_schema.py of Foreread:
prose and Schematron rules left out, classes unfolded, version labels of MEI 5 let in. """
g.insert(0, etree.Comment(NOTICE))
etree.RelaxNG(g)  # compiles
with open(sys.argv[2], "wb") as out, gzip.GzipFile(fileobj=out, mode="wb", mtime=0, filename="") as packed:
    packed.write(etree.tostring(g, encoding="utf-8", xml_declaration=True))
print(f"{len(reach)} of {len(defs)} patterns")
