"""What must be gathered before a run? Fonts and the two script libraries, into .data (which git ignores).

    python prepare.py NODE_MODULES        NODE_MODULES holds vexflow@4.2.5, abc2svg and @vexflow-fonts/*

Text fonts come from the system's own (Liberation, DejaVu, URW); corpus.py gather adds the melodies.
"""

import glob
import os
import shutil
import sys

from glyphs import DATA, HELD_OUT_FONT, MUSIC_FONTS, TEXT_FONTS


def main(mods):
    os.makedirs(os.path.join(DATA, "fonts"), exist_ok=True)
    os.makedirs(os.path.join(DATA, "js"), exist_ok=True)
    where = glob.glob(os.path.join(mods, "@vexflow-fonts", "*", "*.otf"))
    for top in ("/usr/share/fonts",):
        where += [os.path.join(d, f) for d, _, fs in os.walk(top) for f in fs if f.endswith((".ttf", ".otf"))]
    by = {os.path.splitext(os.path.basename(f))[0]: f for f in reversed(where)}
    for n in MUSIC_FONTS + [HELD_OUT_FONT] + TEXT_FONTS:
        if n not in by:
            print("missing font", n)
            continue
        shutil.copy(by[n], os.path.join(DATA, "fonts"))
    shutil.copy(os.path.join(mods, "vexflow", "build", "cjs", "vexflow.js"), os.path.join(DATA, "js"))


if __name__ == "__main__":
    main(sys.argv[1])
