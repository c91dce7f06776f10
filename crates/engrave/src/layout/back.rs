//! Where must the player turn back? Repeats and jumps to a page that was turned away.

use notation::{BarIndex, BarSide, Barline, DirectionKind, Part, Piece};
use terms::road::RoadKind;

/// A way back on the page.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Back {
    /// The bar after which it is taken.
    pub from: BarIndex,
    /// The bar it leads to.
    pub to: BarIndex,
    /// What sends the player back.
    pub by: By,
}

/// What sends the player back.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum By {
    /// A repeat sign.
    Repeat,
    /// D.C. or D.S.
    Jump,
}

/// All ways back that signs and words of the part name, in the order of the page.
pub(super) fn ways(piece: &Piece, part: &Part) -> Vec<Back> {
    let mut ways: Vec<Back> = repeats(piece);
    ways.extend(jumps(piece, part));
    ways.sort_by_key(|back| (back.from, back.to));
    ways
}

fn repeats(piece: &Piece) -> Vec<Back> {
    let lines: Vec<&Barline> = piece
        .barlines
        .iter()
        .filter(|line| line.part == 0 && line.repeat.is_some())
        .collect();
    let is_forward = |line: &Barline| line.repeat.as_ref().is_some_and(|repeat| repeat.forward);
    let mut start = BarIndex(0);
    let mut ways = Vec::new();
    for line in lines {
        let after = match line.side {
            BarSide::Right => line.place.bar.next(),
            BarSide::Left | BarSide::Middle => line.place.bar,
        };
        if is_forward(line) {
            start = after;
        } else {
            let from = BarIndex(after.0.saturating_sub(1));
            ways.push(Back {
                from,
                to: start,
                by: By::Repeat,
            });
            // Without a sign of its own, the next passage starts here.
            start = after;
        }
    }
    ways
}

fn jumps(piece: &Piece, part: &Part) -> Vec<Back> {
    let segno = part
        .directions
        .iter()
        .find(|direction| direction.kind == DirectionKind::Segno)
        .map(|direction| direction.place.bar)
        .or_else(|| {
            piece
                .barlines
                .iter()
                .find(|line| line.segno.is_some())
                .map(|line| line.place.bar)
        });
    let mut ways = Vec::new();
    for direction in part.directions.iter().filter(|direction| direction.printed) {
        let DirectionKind::Words(text) = &direction.kind else {
            continue;
        };
        for word in terms::road::road_words(text) {
            let to = match word.kind {
                RoadKind::DaCapo => Some(BarIndex(0)),
                RoadKind::DalSegno => segno,
                _ => None,
            };
            if let Some(to) = to.filter(|to| *to <= direction.place.bar) {
                ways.push(Back {
                    from: direction.place.bar,
                    to,
                    by: By::Jump,
                });
            }
        }
    }
    ways
}

#[cfg(test)]
mod tests {
    use super::{Back, By, ways};
    use notation::sketch;

    fn found(line: &str) -> Vec<(u32, u32, By)> {
        let piece = sketch(line).unwrap();
        let of = |back: &Back| (back.from.0, back.to.0, back.by);
        ways(&piece, &piece.parts[0]).iter().map(of).collect()
    }

    #[test]
    fn repeats_lead_to_their_sign_or_to_where_the_last_one_ended() {
        assert_eq!(
            found("C5/w | D5/w :| E5/w | F5/w :| G5/w |"),
            [(1, 0, By::Repeat), (3, 2, By::Repeat)]
        );
        assert_eq!(found("C5/w |: D5/w | E5/w :| F5/w |"), [(2, 1, By::Repeat)]);
    }

    #[test]
    fn words_lead_to_the_beginning_or_to_the_sign() {
        assert_eq!(
            found("C5/w | segno D5/w | \"D.S._al_Fine\" E5/w |"),
            [(2, 1, By::Jump)]
        );
        assert_eq!(found("C5/w | D5/w | \"D.C.\" E5/w |"), [(2, 0, By::Jump)]);
        assert_eq!(found("\"Allegro\" C5/w | D5/w |"), []);
    }
}
