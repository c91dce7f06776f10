//! Does any page get an answer? Random pieces with all that a page can hold, for every kind of player.

use instruments::Experience;
use load::breath::{Material, Pace, Tempi, breath_answer};
use load::hand::{Hand, hand_load};
use load::{Placed, Player, alike};
use notation::testing::{self, Palette};
use performance::road::{RoadOptions, unfold};
use proptest::prelude::*;
use survey::Context;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// No page panics; every mark stands at a note of the line, every share is a positive number in a bar of the piece.
    #[test]
    fn any_page_has_an_answer(bytes in prop::collection::vec(any::<u8>(), 20..900), which in 0..64_usize, speed in 1.0_f64..900.0) {
        let piece = testing::piece(&bytes, &Palette::default());
        let all: Vec<_> = instruments::all().collect();
        let instrument = all.get(which).copied();
        let player = Player::usual(instrument, Experience::Student);
        for part in 0..piece.parts.len() {
            let ctx = Context::new(&piece, part).expect("a part");
            let key = survey::key::answer(&ctx, None);
            let phrases = survey::phrases::answer(&ctx, Some(&key));
            let alike = alike::answer(&ctx, &[]);
            let unfolding = unfold(&piece, &RoadOptions::default());
            let dynamics = survey::dynamics::answer(&ctx);
            let material = Material {
                phrases: &phrases,
                alike: &alike,
                unfolding: &unfolding,
                dynamics: Some(&dynamics),
                key: Some(&key),
                own: &[],
            };
            let tempi = Tempi { first: Pace::steady(speed / 2.0), last: Pace::steady(speed) };
            let answer = breath_answer(&ctx, &player, &tempi, &material);
            prop_assert_eq!(answer.bars.len(), piece.bars.len());
            for breath in &answer.at_first {
                prop_assert!(breath.note < ctx.line.len() && breath.place.bar.get() < piece.bars.len());
                prop_assert!(breath.shortened.is_none_or(|note| note < ctx.line.len()));
            }
            prop_assert!(answer.bars.iter().flatten().all(|secs| secs.is_finite() && *secs >= -1e-9));
            let hand = Hand { pace: &tempi.last, signs: &phrases.signs, finger_shares: &[] };
            let shares = hand_load(&ctx, &player, &hand);
            let sound = |placed: &Placed| {
                placed.share.amount.is_finite() && placed.share.amount > 0.0 && placed.place.bar.get() < piece.bars.len()
            };
            prop_assert!(shares.iter().chain(&answer.shares).all(sound));
            prop_assert_eq!(phrases.certainties.len(), ctx.line.len());
            prop_assert!(phrases.certainties.iter().all(|p| (0.0..=1.0).contains(p)));
        }
    }
}
