//! Which ornament is a zigzag whose stroke is hardly seen? The short trill: a mordent is the short trill with a stroke through it.
//!
//! The generated pages of the training have as many of one as of the other; printed music has not. In the 654 MusicXML files that music21
//! 10.5.1 brings along there are 41 short trills (`inverted-mordent`) and no `mordent`. So where the reader wavers between them, the stroke
//! has to be worth that much more.

/// No ornament, trill, mordent, short trill …: places in the reader's answers.
const MORDENT: usize = 2;
/// The natural logarithm of (41 + 1) / (0 + 1), the rule of succession (Laplace).
const STROKE: f32 = 3.74;

/// The reader's log-probabilities of the ornaments, as they are in printed music.
pub(super) fn as_printed(logs: &mut [f32]) {
    if let Some(mordent) = logs.get_mut(MORDENT) {
        *mordent -= STROKE;
    }
    let most = logs.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let sum: f32 = logs.iter().map(|log| (log - most).exp()).sum();
    for log in logs {
        *log -= most + sum.ln();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::said::ORNAMENTS;

    fn most(mut logs: [f32; 6]) -> &'static str {
        as_printed(&mut logs);
        let all: f32 = logs.iter().map(|log| log.exp()).sum();
        assert!((all - 1.0).abs() < 1e-4, "chances add up: {all}");
        let at = (0..6).max_by(|a, b| logs[*a].total_cmp(&logs[*b])).unwrap_or(0);
        ORNAMENTS[at]
    }

    #[test]
    fn a_zigzag_is_a_mordent_only_where_its_stroke_is_plain() {
        const NO: f32 = -12.0;
        assert_eq!(ORNAMENTS[MORDENT], "mordent");
        assert_eq!(most([NO, NO, -0.1, -2.4, NO, NO]), ORNAMENTS[MORDENT + 1]);
        assert_eq!(most([NO, NO, -0.001, -7.0, NO, NO]), "mordent");
        assert_eq!(most([-0.001, NO, -7.0, -9.0, NO, NO]), ORNAMENTS[0]);
    }
}
