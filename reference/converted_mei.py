"""Which MEI files does another program make of the scores with a known play order?

No registry package carries MEI with repeats or endings, so that the scores of play-order.csv are written as MEI by a
converter, once, into the reference environment (a minute; later runs find them there).

Source: converter21 4.0.1 on music21 10.5.1, both from PyPI. What the converter leaves out of MEI is said in LOST.
"""

import sys
import warnings
from pathlib import Path

import scores

# MEI says nothing of how often a repeated stretch is played (MEI 5: `rptend` has no count), so that these three, whose
# originals say `times`, are plain repeats in MEI. Read by hand in the MEI text: its `left`/`right` of every measure.
LOST = {
    "../musicxml/lilypondTestSuite/45a-SimpleRepeat.xml": ("1 1-2", "`rptend` after the first bar"),
    "../musicxml/lilypondTestSuite/45c-RepeatMultipleTimes.xml": ("1-3 2-7 4-8", "`rptstart` after bar 1, `rptend` after 3 and 7"),
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.xml": ("1-17 1-34 18-57 35-57", "`rptboth` after 17 and 34, `rptend` after 57"),
}


def folder() -> Path:
    """Where they are kept: beside the environment's packages, by the converter's version."""
    return Path(sys.prefix) / "mei-by-converter21-4.0.1"


def converted(unit: str) -> Path:
    """The MEI file of a unit; made if it is not there yet."""
    path = folder() / (unit.replace("../", "").replace("/", "__") + ".mei")
    if not path.exists():
        import converter21
        from music21 import converter

        warnings.simplefilter("ignore")
        converter21.register()
        folder().mkdir(exist_ok=True)
        made = path.with_suffix(".part.mei")
        converter.parse(str(scores.score_path(unit)), forceSource=True).write("mei", fp=str(made))
        made.rename(path)
    return path


