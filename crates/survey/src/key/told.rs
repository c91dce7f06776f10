//! What if the teacher names the key? Hers stands, of the whole or of some bars; what we would have said is told beside it.

use super::KeyAnswer;
use super::model::Judged;
use super::tonality::{Scale, Tonality};
use crate::context::Evidence;
use notation::{BarIndex, KeyRegion, Step};

/// A key that the teacher names.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ToldKey {
    /// The bars it is for, both inclusive; `None` for the whole part.
    pub bars: Option<(BarIndex, BarIndex)>,
    /// The tonic as written: letter and semitones of alteration.
    pub tonic: (Step, i8),
    /// Major, minor or the mode proper.
    pub scale: Scale,
}

impl ToldKey {
    /// Tonic with major or minor.
    #[must_use]
    pub fn tonality(&self) -> Tonality {
        Tonality {
            fifths: self.tonic.0.fifths() + 7 * i32::from(self.tonic.1),
            minor: self.scale.is_minor(),
        }
    }
}

impl KeyAnswer {
    /// What the teacher named for the whole part.
    #[must_use]
    pub fn told_of_the_whole(&self) -> Option<&ToldKey> {
        self.told.iter().rev().find(|told| told.bars.is_none())
    }

    /// What the teacher named for a bar, apart from the whole.
    #[must_use]
    pub fn told_at(&self, bar: BarIndex) -> Option<&ToldKey> {
        let here = |told: &&ToldKey| told.bars.is_some_and(|(from, to)| from <= bar && bar <= to);
        self.told.iter().rev().find(here)
    }
}

/// The keys with the one that is named first, judged by the same notes.
pub(super) fn put_first(mut judged: Vec<Judged>, key: Tonality, fit: f64) -> Vec<Judged> {
    let at = judged.iter().position(|one| one.key == key);
    let named = at.map_or(
        Judged {
            key,
            probability: 0.0,
            fit,
        },
        |at| judged.remove(at),
    );
    judged.insert(0, named);
    judged
}

/// Whose word it is, and whether the notes agree.
pub(super) fn said(named: &Judged, ours: Option<&Judged>) -> Evidence {
    let words = match ours {
        Some(ours) if ours.key != named.key => format!(
            "the teacher names it; from the notes alone we would say {} ({:.0} %)",
            ours.key.name(),
            ours.probability * 100.0
        ),
        _ => "the teacher names it, and the notes agree".to_owned(),
    };
    Evidence::general(words)
}

/// The regions with those that the teacher names in their places; the last named of a bar holds.
pub(super) fn over(regions: Vec<KeyRegion>, told: &[ToldKey], bars: usize) -> Vec<KeyRegion> {
    let mut regions = regions;
    for (one, (from, to)) in told.iter().filter_map(|one| Some((one, one.bars?))) {
        let last = BarIndex::from_usize(bars.saturating_sub(1));
        let (from, to) = (from.min(to), from.max(to).min(last));
        if from.get() >= bars {
            continue;
        }
        let mut cut: Vec<KeyRegion> = Vec::new();
        for region in regions {
            if region.to < from || to < region.from {
                cut.push(region);
                continue;
            }
            if region.from < from {
                cut.push(KeyRegion {
                    to: BarIndex(from.0 - 1),
                    ..region.clone()
                });
            }
            if to < region.to {
                cut.push(KeyRegion {
                    from: to.next(),
                    ..region
                });
            }
        }
        cut.push(KeyRegion {
            from,
            to,
            tonic: one.tonic,
            mode: one.tonality().mode().to_owned(),
            certainty: 1.0,
        });
        cut.sort_by_key(|region| region.from);
        regions = cut;
    }
    regions
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::key::{answer, answer_told};
    use crate::{Context, key};
    use notation::sketch;
    use proptest::prelude::*;

    fn named(bars: Option<(u32, u32)>, tonic: (Step, i8), scale: Scale) -> ToldKey {
        ToldKey {
            bars: bars.map(|(from, to)| (BarIndex(from), BarIndex(to))),
            tonic,
            scale,
        }
    }

    /// The scale of C twice, its close on C.
    const PLAIN: &str = "C4/q D4/q E4/q F4/q | G4/q A4/q B4/q C5/q | C5/q B4/q A4/q G4/q | F4/q D4/q C4/h |";

    #[test]
    fn her_word_stands_and_ours_is_told_beside_it() {
        let piece = sketch(PLAIN).unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let ours = answer(&ctx, None);
        assert_eq!((ours.tonic, ours.mode), ((Step::C, 0), "major"));
        let hers = answer_told(&ctx, None, &[named(None, (Step::A, 0), Scale::Aeolian)]);
        assert_eq!(
            (hers.tonic, hers.mode, hers.scale),
            ((Step::A, 0), "minor", "aeolian")
        );
        assert!(
            hers.evidence[0].says.contains("C major"),
            "{:?}",
            hers.evidence[0]
        );
        assert_eq!(
            hers.runner_up.as_ref().map(|other| other.tonic),
            Some((Step::C, 0))
        );
        assert!(hers.scales_first[0].name.starts_with('A'));
        assert_eq!(hers.certainty, 1.0);
        // That she says the same as we changes the answer in nothing but whose it is.
        let same = answer_told(&ctx, None, &[named(None, ours.tonic, Scale::Major)]);
        assert!(same.evidence[0].says.contains("agree"));
        assert_eq!(same.regions, ours.regions);
        assert_eq!(same.runner_up, ours.runner_up);
    }

    #[test]
    fn a_key_of_some_bars_is_of_those_bars() {
        let piece = sketch(PLAIN).unwrap();
        let ctx = Context::new(&piece, 0).unwrap();
        let hers = answer_told(&ctx, None, &[named(Some((1, 2)), (Step::G, 0), Scale::Major)]);
        assert_eq!(hers.tonic, (Step::C, 0));
        let said: Vec<(u32, u32, Step)> = hers
            .regions
            .iter()
            .map(|region| (region.from.0, region.to.0, region.tonic.0))
            .collect();
        assert_eq!(said, [(0, 0, Step::C), (1, 2, Step::G), (3, 3, Step::C)]);
        assert!(hers.told_at(BarIndex(2)).is_some() && hers.told_at(BarIndex(3)).is_none());
        assert!(
            hers.scales_first
                .iter()
                .any(|scale| scale.name.contains("G major"))
        );
    }

    proptest! {
        /// Whatever is named, the regions cover every bar once.
        #[test]
        fn regions_cover_every_bar_once(told in prop::collection::vec((0_u32..9, 0_u32..9, 0_usize..7), 0..6)) {
            let piece = sketch(PLAIN).unwrap();
            let ctx = Context::new(&piece, 0).unwrap();
            let told: Vec<ToldKey> =
                told.into_iter().map(|(from, to, step)| named(Some((from, to)), (Step::ALL[step], 0), Scale::Minor)).collect();
            let regions = key::answer_told(&ctx, None, &told).regions;
            let covered: Vec<u32> = regions.iter().flat_map(|region| region.from.0..=region.to.0).collect();
            prop_assert_eq!(covered, vec![0, 1, 2, 3]);
        }
    }
}
