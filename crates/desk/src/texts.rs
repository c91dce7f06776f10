//! Which words of a file are none as they stand on a printed page? Longer ones are read up to a length (an engraver would sit over them for
//! minutes), signs that are no letters but steer a screen are left out; a finding says of each that it was so.

use notation::{BarIndex, DirectionKind, Finding, Piece, Severity, steers};

/// So many letters of any one text are read. Ours.
pub(crate) const MOST_LETTERS: usize = 1_000;

/// Leaves of every text what a page could show.
pub(crate) fn made_readable(piece: &mut Piece) -> Vec<Finding> {
    let mut overlong = Seen::default();
    let mut steering = Seen::default();
    each(piece, &mut |text, bar| {
        if text.chars().any(steers) {
            text.retain(|sign| !steers(sign));
            steering.count(bar);
        }
        // As many bytes as letters at least: most texts are told by their length alone.
        if text.len() > MOST_LETTERS
            && let Some((end, _)) = text.char_indices().nth(MOST_LETTERS)
        {
            text.truncate(end);
            overlong.count(bar);
        }
    });
    let up_to = format!("longer than {MOST_LETTERS} letters and");
    let overlong = overlong.finding(
        piece,
        "overlong-text",
        &format!("is {up_to} was read up to there"),
        &format!("are {up_to} were read up to there"),
    );
    let steering = steering.finding(
        piece,
        "steering-signs",
        "holds signs that are no letters and were left out",
        "hold signs that are no letters and were left out",
    );
    overlong.into_iter().chain(steering).collect()
}

/// A title as it may be shown.
pub(crate) fn readable(title: &str) -> String {
    title
        .chars()
        .filter(|sign| !steers(*sign))
        .take(MOST_LETTERS)
        .collect()
}

/// Every text of a piece, with its bar if it stands in one.
fn each(piece: &mut Piece, look: &mut impl FnMut(&mut String, Option<BarIndex>)) {
    let credits = &mut piece.credits;
    let people = credits.people.iter_mut().map(|(_, name)| name);
    let whole = credits.title.iter_mut().chain(&mut credits.movement);
    for text in whole.chain(people).chain(&mut credits.rights) {
        look(text, None);
    }
    for (index, bar) in piece.bars.iter_mut().enumerate() {
        look(&mut bar.label, Some(BarIndex::from_usize(index)));
    }
    for ending in piece.barlines.iter_mut().filter_map(|line| line.ending.as_mut()) {
        look(&mut ending.number, None);
        look(&mut ending.text, None);
    }
    for part in &mut piece.parts {
        look(&mut part.name, None);
        look(&mut part.abbreviation, None);
        if let Some(text) = &mut part.instrument_name {
            look(text, None);
        }
        for direction in &mut part.directions {
            let bar = Some(direction.place.bar);
            match &mut direction.kind {
                DirectionKind::Words(text)
                | DirectionKind::Dynamic(text)
                | DirectionKind::Rehearsal(text)
                | DirectionKind::Sign { text, .. } => look(text, bar),
                DirectionKind::Metronome(_) | DirectionKind::Segno | DirectionKind::Coda => {}
            }
        }
        for event in &mut part.events {
            let bar = Some(event.place.bar);
            for lyric in &mut event.lyrics {
                look(&mut lyric.text, bar);
            }
        }
    }
}

/// How many there were, and the first bar with one.
#[derive(Default)]
struct Seen {
    count: usize,
    bar: Option<BarIndex>,
}

impl Seen {
    fn count(&mut self, bar: Option<BarIndex>) {
        self.count += 1;
        self.bar = self.bar.or(bar);
    }

    fn finding(&self, piece: &Piece, kind: &'static str, one: &str, more: &str) -> Option<Finding> {
        let what = match self.count {
            0 => return None,
            1 => format!("a text {one}"),
            many => format!("{many} texts {more}"),
        };
        let advice = "look whether the file is whole and from somebody you know";
        let finding = Finding::new(Severity::Problem, kind, what, advice);
        Some(match self.bar {
            Some(bar) => finding.at_bar(bar, piece.label(bar)),
            None => finding,
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::MOST_LETTERS;
    use crate::open_bytes;
    use notation::DirectionKind;
    use std::path::Path;

    fn tune(title: &str, words: &str) -> Vec<u8> {
        format!("X:1\nT:{title}\nM:4/4\nL:1/4\nK:C\nCDEF|\"^{words}\"G4|]\n").into_bytes()
    }

    #[test]
    fn words_longer_than_any_on_a_page_are_read_up_to_a_length_and_it_is_said() {
        let long = "é".repeat(MOST_LETTERS + 1);
        let opened = open_bytes(Path::new("x.abc"), &tune("Air", &long)).unwrap();
        let words = |opened: &crate::Opened| match &opened.piece.parts[0].directions[0].kind {
            DirectionKind::Words(text) => text.chars().count(),
            other => unreachable!("{other:?}"),
        };
        assert_eq!(words(&opened), MOST_LETTERS);
        let finding = opened.findings.last().unwrap();
        assert_eq!(
            (finding.kind, finding.bar_label.as_deref()),
            ("overlong-text", Some("2"))
        );
        let opened = open_bytes(Path::new("x.abc"), &tune(&long, &long)).unwrap();
        assert_eq!(opened.piece.credits.name().unwrap().chars().count(), MOST_LETTERS);
        assert!(opened.findings.last().unwrap().what.starts_with("2 texts"));
    }

    #[test]
    fn words_of_any_usual_length_stay_as_they_are() {
        let long = "é".repeat(MOST_LETTERS);
        let opened = open_bytes(Path::new("x.abc"), &tune("Air", &long)).unwrap();
        assert!(
            opened
                .findings
                .iter()
                .all(|finding| finding.kind != "overlong-text")
        );
    }

    #[test]
    fn signs_that_steer_a_screen_are_left_out_and_letters_of_any_script_stay() {
        let words = "\u{202e}\u{5dc}\u{5d0}\u{5d8}\u{2069}";
        let opened = open_bytes(Path::new("x.abc"), &tune("\u{2066}\u{5e9}ir", words)).unwrap();
        assert_eq!(opened.piece.credits.name().unwrap(), "\u{5e9}ir");
        assert!(matches!(
            &opened.piece.parts[0].directions[0].kind,
            DirectionKind::Words(text) if text == "\u{5dc}\u{5d0}\u{5d8}"
        ));
        let finding = opened.findings.last().unwrap();
        assert_eq!(
            (finding.kind, finding.bar_label.as_deref()),
            ("steering-signs", Some("2"))
        );
        assert!(finding.what.starts_with("2 texts hold signs"));
    }
}
