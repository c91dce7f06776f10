//! Do the notes lie in the player's range? What leaves it comes nearer by octaves, as a whole if that helps, and it is said.

use super::Source;
use super::draft::{DraftBar, Passage, Sounded, Tone};
use notation::{BarIndex, Finding, Pitch, Rational, Severity, SpanKind};

/// Octaves that are tried, the nearest first.
const OCTAVES: [i32; 6] = [-1, 1, -2, 2, -3, 3];

/// Lowest and highest note that she plays.
#[derive(Clone, Copy)]
struct Reach {
    low: Pitch,
    high: Pitch,
}

impl Reach {
    fn has(self, pitch: Pitch) -> bool {
        pitch.semitones() >= self.low.semitones() && pitch.semitones() <= self.high.semitones()
    }

    /// The octave by which a compass comes into reach.
    fn octave(self, (bottom, top): (Pitch, Pitch)) -> Option<i32> {
        OCTAVES
            .into_iter()
            .find(|by| self.has(moved(bottom, *by)) && self.has(moved(top, *by)))
    }

    fn said(self) -> String {
        format!("your range ({} to {})", self.low.sign(), self.high.sign())
    }
}

fn moved(pitch: Pitch, octaves: i32) -> Pitch {
    pitch.transposed(7 * octaves, Rational::whole(12 * i64::from(octaves)))
}

/// The passage in the player's range: by octaves as a whole, else bar by bar, else single notes; what can't be helped is said.
pub(crate) fn in_range(source: &Source, mut passage: Passage, findings: &mut Vec<Finding>) -> Passage {
    let (Some((low, high)), Some(compass)) = (source.range(), passage.compass()) else {
        return passage;
    };
    let reach = Reach { low, high };
    if reach.has(compass.0) && reach.has(compass.1) {
        return passage;
    }
    // Where notes are moved, a line that draws them an octave away is of no use.
    passage
        .reaches
        .retain(|reach| !matches!(reach.kind, SpanKind::Ottava { .. }));
    let at = passage.bars.first().and_then(|bar| bar.from).unwrap_or_default();
    if let Some(by) = reach.octave(compass) {
        let what = format!("written {}: as printed it leaves {}", way(by), reach.said());
        findings.push(said(
            source,
            at,
            what,
            "play it as printed when the notes are yours",
        ));
        return passage.moved(&|pitch| moved(pitch, by));
    }
    for bar in &mut passage.bars {
        bar_in_range(source, reach, bar, findings);
    }
    // A tie over a bar line to what now lies elsewhere holds nothing.
    passage.loosen();
    passage
}

fn bar_in_range(source: &Source, reach: Reach, bar: &mut DraftBar, findings: &mut Vec<Finding>) {
    let Some(compass) = compass(bar) else { return };
    if reach.has(compass.0) && reach.has(compass.1) {
        return;
    }
    let at = bar.from.unwrap_or_default();
    let name = source.ctx.label(at);
    if let Some(by) = reach.octave(compass) {
        let what = format!(
            "bar {name} is written {}: as printed it leaves {}",
            way(by),
            reach.said()
        );
        findings.push(said(
            source,
            at,
            what,
            "play it as printed when the notes are yours",
        ));
        change(bar, &|pitch| moved(pitch, by));
        return;
    }
    let fold = |pitch: Pitch| {
        if reach.has(pitch) {
            return Some(pitch);
        }
        OCTAVES
            .into_iter()
            .map(|by| moved(pitch, by))
            .find(|pitch| reach.has(*pitch))
    };
    let outside: Vec<Pitch> = [compass.0, compass.1]
        .into_iter()
        .filter(|pitch| !reach.has(*pitch))
        .collect();
    let names: Vec<String> = outside.iter().map(|pitch| pitch.sign()).collect();
    let (what, advice) = if outside.iter().all(|pitch| fold(*pitch).is_some()) {
        (
            format!(
                "notes outside {} are written an octave nearer, {} among them",
                reach.said(),
                names.join(" and ")
            ),
            "play them as printed when they are yours",
        )
    } else {
        (
            format!("{} can't be brought into {}", names.join(" and "), reach.said()),
            "leave these notes out",
        )
    };
    findings.push(said(source, at, what, advice));
    change(bar, &|pitch| fold(pitch).unwrap_or(pitch));
}

fn change(bar: &mut DraftBar, to: &dyn Fn(Pitch) -> Pitch) {
    for tone in &mut bar.tones {
        *tone = std::mem::take(tone).moved(to);
    }
}

fn compass(bar: &DraftBar) -> Option<(Pitch, Pitch)> {
    let of_tone = |tone: &Tone| -> Vec<Pitch> {
        let graces = tone.graces.iter().flat_map(|small| small.heads.iter());
        tone.heads
            .iter()
            .chain(graces)
            .filter_map(Sounded::pitch)
            .collect()
    };
    let mut all = bar.tones.iter().flat_map(of_tone);
    let first = all.next()?;
    Some(all.fold((first, first), |(low, high), pitch| {
        (low.min(pitch), high.max(pitch))
    }))
}

fn way(octaves: i32) -> String {
    let way = if octaves < 0 { "lower" } else { "higher" };
    match octaves.abs() {
        1 => format!("an octave {way}"),
        more => format!("{more} octaves {way}"),
    }
}

fn said(source: &Source, at: BarIndex, what: String, advice: &str) -> Finding {
    Finding::new(Severity::Note, "out-of-range", what, advice).at_bar(at, source.ctx.label(at))
}
