"""What does `demo/README.md` say? Written from the scores, so that its lists never drift from the music."""

import features
from rules import notes_of

INTRO = """# The demo: ten pieces and a studio

Ten pieces newly composed for this project, and the made-up studio that plays them (`studio.toml`). They are real music
to try every command on, and between them they hold every feature that the survey must read: the table below says where.
No piece is taken from, or modelled on, a published one; the teacher and players don't exist.

Licence: MIT OR Apache-2.0, at your option, like the rest of the project.

The pieces are written in a terse notation, one bar a line, with the plan of the piece (form, harmony, climax) above it:
`compose/scores/*.txt`. `compose/make.py` (Python 3, nothing to install) checks them (a bar that does not add up, or a tie, slur,
hairpin or ending without its other end, is refused) and writes `pieces/*.musicxml`, a copy as compressed `.mxl`, a copy as
score-timewise, and this file. `python3 demo/compose/make.py --check` fails when they drift.
`compose/outside.py` reads the pieces with music21 10.5.1, an outside library, and reports bars, notes, range, play order
and the keys that it guesses.
"""


def text(scores):
    lines = [INTRO, "## The pieces", ""]
    lines += ["| piece | instrument | key | metre | written bars | bars played | level |", "|---|---|---|---|---|---|---|"]
    for score in ordered(scores):
        head, part = score.header, score.parts[0]
        lines.append(f"| [{head['title']}](pieces/{score.name}.musicxml) | {', '.join(p.instrument for p in score.parts)} | {head['in']} "
                     f"| {metres(part)} | {len(part.bars)} | {len(play_order(head['plays']))} | {head['level']} |")
    lines += ["", "### Form and order of play", ""]
    for score in ordered(scores):
        lines.append(f"- **{score.header['title']}**: {score.header['form']}. Played: {score.header['plays']}.")
    lines += ["", "Repeats are not taken again after a D.C. or D.S. Labels are the printed ones; the upbeat is bar 0, and X1 is the",
              "second half of a bar split by a double barline.", "", "### What each piece holds",
              "", "Beyond what most of them share (slurs, hairpins, fermatas, breath marks, accents, staccato, tenuto …):", ""]
    table = features.table(scores)
    for score in ordered(scores):
        held = [f.lstrip("… ") for f, places in table.items() if score.name in places and len(places) <= 5]
        lines.append(f"- **{score.header['title']}** ({sum(len(notes_of(b)) for b in score.parts[0].bars)} notes and rests): {'; '.join(held)}.")
    lines += ["", "## Where each feature stands", "", "| feature | piece: bars |", "|---|---|"]
    for feature, places in table.items():
        cells = [f"{name}: {some(labels)}" for name, labels in places.items()]
        lines.append(f"| {feature} | {'; '.join(cells)} |")
    return "\n".join(lines) + "\n"


def ordered(scores):
    """Easiest first."""
    levels = ["easy", "lower intermediate", "intermediate", "upper intermediate", "advanced"]
    return sorted(scores, key=lambda s: (levels.index(s.header["level"].split(":")[0]), s.name))


def metres(part):
    seen = []
    for bar in part.bars:
        if bar.time:
            word = "¢" if bar.time[3] == "cut" else f"{bar.time[0]}/{bar.time[1]}"
            if word not in seen:
                seen.append(word)
    return ", ".join(seen)


def play_order(spec):
    """`1-4 7a` as a list of labels."""
    order = []
    for token in spec.split():
        low, _, high = token.partition("-")
        order += [str(n) for n in range(int(low), int(high) + 1)] if high else [low]
    return order


def some(labels):
    return ", ".join(labels[:6]) + (f" and {len(labels) - 6} more" if len(labels) > 6 else "")
