"""Which faces must be gathered? Those of the text, beside what `../prepare.py` brings, into .data/fonts (which git ignores).

    python words/prepare.py          Debian: fonts-liberation fonts-dejavu fonts-urw-base35 fonts-crosextra-caladea fonts-crosextra-carlito
                                     fonts-freefont-otf fonts-lmodern fonts-sil-gentium fonts-ebgaramond fonts-lato
"""

import os
import shutil
import sys

sys.path[:0] = [os.path.dirname(os.path.abspath(__file__)), os.path.dirname(os.path.dirname(os.path.abspath(__file__)))]

from glyphs import DATA  # noqa: E402
from make import FACES, HELD_OUT_FACES, HERE  # noqa: E402


def main():
    out = os.path.join(DATA, "fonts")
    os.makedirs(out, exist_ok=True)
    tops = ("/usr/share/fonts", "/usr/share/texmf/fonts", os.path.join(HERE, "..", "..", "crates", "fonts", "data"))
    by = {os.path.splitext(f)[0]: os.path.join(d, f) for top in reversed(tops) for d, _, fs in os.walk(top) for f in fs if f.endswith((".ttf", ".otf"))}
    for n in FACES + HELD_OUT_FACES:
        if n in by:
            shutil.copy(by[n], out)
        elif not any(os.path.exists(os.path.join(out, n + e)) for e in (".otf", ".ttf")):
            print("missing face", n)


if __name__ == "__main__":
    main()
