//! Do the promises hold on any page? Pieces composed at random, with all that a page can hold, for every kind of player.

use crate::case::case;
use crate::laws::faults;
use instruments::Experience;
use notation::testing::{self, Palette};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn any_page_for_any_player(bytes in prop::collection::vec(any::<u8>(), 20..900), which in 0..64_usize, level in 0..3_usize) {
        let piece = testing::piece(&bytes, &Palette::default());
        let all: Vec<_> = instruments::all().collect();
        let found = faults(&case("random", &piece, all.get(which).copied(), Experience::ALL[level]));
        prop_assert!(found.is_empty(), "{:?}", found);
    }
}
