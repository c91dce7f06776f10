//! Which words are longer than any on a printed page? They are read up to a length, and a finding says so: an engraver would sit over them
//! for minutes.

use notation::{BarIndex, DirectionKind, Finding, Piece, Severity};

/// So many letters of any one text are read. Ours.
pub(crate) const MOST_LETTERS: usize = 1_000;

/// Shortens what is longer.
pub(crate) fn shortened(piece: &mut Piece) -> Option<Finding> {
    let mut seen = Seen::default();
    let credits = &mut piece.credits;
    let people = credits.people.iter_mut().map(|(_, name)| name);
    let whole = credits.title.iter_mut().chain(&mut credits.movement);
    for text in whole.chain(people).chain(&mut credits.rights) {
        seen.look(text, None);
    }
    for (index, bar) in piece.bars.iter_mut().enumerate() {
        seen.look(&mut bar.label, Some(BarIndex::from_usize(index)));
    }
    for ending in piece.barlines.iter_mut().filter_map(|line| line.ending.as_mut()) {
        seen.look(&mut ending.number, None);
        seen.look(&mut ending.text, None);
    }
    for part in &mut piece.parts {
        seen.look(&mut part.name, None);
        seen.look(&mut part.abbreviation, None);
        if let Some(text) = &mut part.instrument_name {
            seen.look(text, None);
        }
        for direction in &mut part.directions {
            let bar = Some(direction.place.bar);
            match &mut direction.kind {
                DirectionKind::Words(text)
                | DirectionKind::Dynamic(text)
                | DirectionKind::Rehearsal(text)
                | DirectionKind::Sign { text, .. } => seen.look(text, bar),
                DirectionKind::Metronome(_) | DirectionKind::Segno | DirectionKind::Coda => {}
            }
        }
        for event in &mut part.events {
            let bar = Some(event.place.bar);
            for lyric in &mut event.lyrics {
                seen.look(&mut lyric.text, bar);
            }
        }
    }
    seen.finding(piece)
}

/// How many were too long, and the first bar with one.
#[derive(Default)]
struct Seen {
    count: usize,
    bar: Option<BarIndex>,
}

impl Seen {
    fn look(&mut self, text: &mut String, bar: Option<BarIndex>) {
        // As many bytes as letters at least: most texts are told by their length alone.
        if text.len() <= MOST_LETTERS {
            return;
        }
        if let Some((end, _)) = text.char_indices().nth(MOST_LETTERS) {
            text.truncate(end);
            self.count += 1;
            self.bar = self.bar.or(bar);
        }
    }

    fn finding(&self, piece: &Piece) -> Option<Finding> {
        let what = match self.count {
            0 => return None,
            1 => format!("a text is longer than {MOST_LETTERS} letters and was read up to there"),
            many => format!("{many} texts are longer than {MOST_LETTERS} letters and were read up to there"),
        };
        let advice = "look whether the file is whole and from somebody you know";
        let finding = Finding::new(Severity::Problem, "overlong-text", what, advice);
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
}
