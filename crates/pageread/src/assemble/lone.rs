//! Does anything go with a segno or a coda? A sign alone on its page sends nobody anywhere: a doubtful one is left out and told, a sure one
//! stays as it is printed and is asked about.
//!
//! With a segno go the words that lead to it (D.S.) or another segno: many prints of dances set the sign itself twice, where to begin again
//! and where to go back. With a coda go another coda sign, the word, or a jump. Source: common practice.

use super::builder::Builder;
use crate::signs::Beside;
use crate::words::go_with_signs;
use notation::{DirectionKind, Place};

/// A lone sign less sure than this is left out: judgement. On the pages of development, nothing that was no sign was surer than 0.6, and nothing
/// that was one less sure than 0.86.
const SURE_SIGN: f32 = 0.9;

impl Builder<'_> {
    pub(super) fn road_sign(&mut self, system: usize, mark: &Beside, place: Place, kind: DirectionKind) {
        let lone = !mark.right && self.is_lone(mark.name);
        if lone && mark.sure < SURE_SIGN {
            self.told.left_out(place, system, mark);
            return;
        }
        if lone {
            self.told.lone_sign(place, system, mark);
        }
        self.direction(system, mark, place, kind);
    }

    /// Whether no other such sign and no words go with it.
    fn is_lone(&self, name: &str) -> bool {
        let marks = self.systems.iter().flat_map(|system| &system.seen.roads);
        let mut lines = self
            .systems
            .iter()
            .flat_map(|system| system.words.iter().chain(&system.beyond));
        marks.filter(|mark| mark.name == name).count() == 1
            && !lines.any(|line| {
                let (segno, coda) = go_with_signs(&line.text);
                if name == "segno" { segno } else { coda }
            })
    }
}

#[cfg(test)]
mod tests {
    use crate::assemble::{Read, System, assemble, assemble_mended};
    use crate::mend::{Doubt, Edit, Line, mend};
    use crate::signs::{Beside, Sign};
    use crate::text::TextLine;
    use crate::vocabulary::{BARS, Main};
    use notation::DirectionKind;

    /// Three bars of a whole note each, with these signs above them: where, what, how sure; and a text under the last.
    fn page(marks: &[(f32, &'static str, f32)], text: &str) -> System {
        let mut system = System::of_scores(&[]);
        let kind = BARS.iter().position(|known| *known == "single").unwrap();
        for (number, (x, main)) in (0..).zip([
            (10.0, Main::Clef(0)),
            (100.0, Main::Note(4)),
            (180.0, Main::Bar(kind)),
            (200.0, Main::Note(4)),
            (280.0, Main::Bar(kind)),
            (300.0, Main::Note(4)),
            (380.0, Main::Bar(kind)),
        ]) {
            let mut sign = Sign::plain(number, x, main);
            (sign.log, sign.values) = (-0.01, [-12.0; 10]);
            (sign.values[2], sign.answers[0]) = (0.0, 2);
            system.seen.signs.push(sign);
        }
        let marks = (0..).zip(marks).map(|(number, (x, name, sure))| Beside {
            number,
            x: *x,
            name,
            sure: *sure,
            right: false,
        });
        system.seen.roads = marks.collect();
        system.width = 400.0;
        if !text.is_empty() {
            system.words.push(TextLine {
                number: 0,
                bounds: (300.0, 160.0, 370.0, 175.0),
                text: text.to_owned(),
                sure: 0.99,
                right: false,
                is: None,
                mark: None,
            });
        }
        system
    }

    /// Segno and coda signs in the piece.
    fn signs(read: &Read) -> usize {
        let directions = read.piece.parts.iter().flat_map(|part| &part.directions);
        directions
            .filter(|direction| matches!(direction.kind, DirectionKind::Segno | DirectionKind::Coda))
            .count()
    }

    fn found(marks: &[(f32, &'static str, f32)], text: &str) -> (usize, bool, bool) {
        let read = assemble(&[page(marks, text)]);
        let told = |kind| read.findings.iter().any(|finding| finding.kind == kind);
        (signs(&read), told("sign-left-out"), told("lone-sign"))
    }

    #[test]
    fn a_doubtful_sign_alone_on_its_page_is_left_out_and_told() {
        assert_eq!(found(&[(195.0, "segno", 0.6)], ""), (0, true, false));
        assert_eq!(found(&[(195.0, "coda", 0.6)], ""), (0, true, false));
        // The word names the place by itself.
        assert_eq!(found(&[(195.0, "segno", 0.6)], "Segno"), (0, true, false));
        assert_eq!(found(&[(195.0, "segno", 0.6)], "D.C. al Fine"), (0, true, false));
    }

    #[test]
    fn what_leads_to_it_keeps_it() {
        assert_eq!(found(&[(195.0, "segno", 0.6)], "D.S."), (1, false, false));
        assert_eq!(found(&[(195.0, "coda", 0.6)], "D.C. al Coda"), (1, false, false));
        assert_eq!(found(&[(195.0, "coda", 0.6)], "Coda"), (1, false, false));
        let two = [(95.0, "segno", 0.6), (295.0, "segno", 0.6)];
        assert_eq!(found(&two, ""), (2, false, false));
        // A coda is no company for a segno.
        let other = [(95.0, "segno", 0.6), (295.0, "coda", 0.6)];
        assert_eq!(found(&other, "").0, 0);
    }

    #[test]
    fn a_sure_one_stays_and_is_asked_about_until_somebody_says_that_it_is_right() {
        assert_eq!(found(&[(195.0, "segno", 0.95)], ""), (1, false, true));
        let read = [page(&[(195.0, "segno", 0.95)], "")];
        assert!(
            assemble(&read)
                .look
                .iter()
                .any(|place| place.about == Doubt::Beside)
        );
        let right = Edit::Beside {
            system: 0,
            line: Line::Road,
            number: 0,
            name: Some("segno".to_owned()),
        };
        let now = assemble_mended(&mend(&read, &[right]));
        assert_eq!(signs(&now), 1);
        assert!(now.look.iter().all(|place| place.about != Doubt::Beside));
    }

    #[test]
    fn what_was_left_out_comes_in_again_by_a_word() {
        let read = [page(&[(195.0, "segno", 0.6)], "")];
        let first = assemble(&read);
        let place = first.look.iter().find(|place| place.left_out.is_some()).unwrap();
        assert_eq!(place.about, Doubt::Open);
        let (line, number) = place.left_out.unwrap();
        let printed = Edit::Beside {
            system: place.system,
            line,
            number,
            name: Some("segno".to_owned()),
        };
        let now = assemble_mended(&mend(&read, &[printed]));
        assert_eq!(signs(&now), 1);
        assert!(now.look.is_empty(), "{:?}", now.look);
    }
}
