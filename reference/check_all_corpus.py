"""Does every score of the corpus survey without a crash, small and fast?

Surveys part 1 of every MusicXML file that the package carries (`--every-part`: all
parts), and checks: exit status 0 and valid JSON, no panic, under 2 s and under
60 MB of memory at the peak. Prints the slowest and the largest.

Source: the issue's limits; measured by the kernel (see launcher.py).
"""

import sys

import foreread
import scores
import witness_xml

SECONDS, MEGABYTES = 2.0, 60.0


def main() -> int:
    failures, runs = [], []
    units = scores.corpus_musicxml()
    for unit in units:
        path = scores.score_path(unit)
        count = len(witness_xml.parts(scores.tree(path)))
        for part in range(1, count + 1) if "--every-part" in sys.argv else (1,):
            done = foreread.survey_run(path, part)
            megabytes = done.rss_kib / 1024
            runs.append((done.seconds, megabytes, unit, part))
            try:
                done.json()
                good = done.status == 0
            except ValueError:
                good = False
            if done.panicked:
                failures.append(f"PANIC {unit} --part {part}: {done.err.strip()[:300]}")
            elif not good:
                failures.append(f"NO SURVEY {unit} --part {part}: exit status {done.status}, {done.err.strip()[:300]}")
            if done.seconds > SECONDS or megabytes > MEGABYTES:
                failures.append(f"OVER THE LIMIT {unit} --part {part}: {done.seconds:.2f} s, {megabytes:.1f} MB")
    for failure in failures:
        print("  " + failure)
    slowest = ", ".join(f"{u} {s:.2f} s" for s, _m, u, _p in sorted(runs, reverse=True)[:3])
    largest = ", ".join(f"{u} {m:.0f} MB" for m, u in sorted(((m, u) for _s, m, u, _p in runs), reverse=True)[:3])
    total = sum(s for s, *_rest in runs)
    print(f"{len(units)} files, {len(runs)} parts in {total:.1f} s; slowest {slowest}; largest {largest}; "
          f"{len(failures)} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
