use super::{BAD_TURN, Gaps, Need, OVERFULL, Room, Turning, badness, height, least_height, pages};
use crate::layout::spread::spread;
use proptest::prelude::*;

const GAPS: Gaps = Gaps {
    least: 10.0,
    usual: 30.0,
    most: 80.0,
    between_staves: 60.0,
};

fn need(above: f64, below: f64) -> Need {
    Need {
        above,
        staff: 72.0,
        below,
    }
}

fn room() -> Room {
    Room {
        first: 1200.0,
        other: 1400.0,
        foot: 0.0,
    }
}

/// All badness of a choice of pages, counted without the table.
fn counted(starts: &[usize], needs: &[Need], room: &Room, turning: Turning, turns: &[f64]) -> f64 {
    let pages = starts.windows(2).enumerate().map(|(page, pair)| {
        let last = pair[1] == needs.len();
        let turn = if !last && turning.after(page) {
            turns[pair[1]]
        } else {
            0.0
        };
        badness(&needs[pair[0]..pair[1]], &GAPS, room, page == 0, last) + turn + super::A_PAGE
    });
    pages.sum()
}

/// As many systems on each page as it holds.
fn greedy(needs: &[Need], room: &Room) -> Vec<usize> {
    let mut starts = vec![0];
    let mut start = 0;
    while start < needs.len() {
        let most = if start == 0 { room.first } else { room.other };
        let mut end = start + 1;
        while end < needs.len() && least_height(&needs[start..=end], &GAPS) <= most {
            end += 1;
        }
        starts.push(end);
        start = end;
    }
    starts
}

#[test]
fn a_turn_goes_where_there_is_a_rest() {
    // Eight systems a page would do; a rest stands before the seventh.
    let needs = vec![need(20.0, 20.0); 14];
    let mut turns = vec![BAD_TURN; 14];
    turns[6] = 0.0;
    let starts = pages(&needs, &GAPS, &room(), Turning::DoubleSided, &turns);
    assert_eq!(starts, [0, 6, 14]);
}

#[test]
fn sheets_side_by_side_are_not_turned_between_the_first_two_pages() {
    let needs = vec![need(20.0, 20.0); 14];
    let mut turns = vec![BAD_TURN; 14];
    turns[3] = 0.0;
    let starts = pages(&needs, &GAPS, &room(), Turning::SideBySide, &turns);
    assert_eq!(starts.len(), 3, "two pages: {starts:?}");
    assert_ne!(starts[1], 3, "no reason to leave the first page empty");
}

#[test]
fn a_system_higher_than_the_page_stands_alone() {
    let needs = [need(20.0, 20.0), need(2000.0, 20.0), need(20.0, 20.0)];
    let starts = pages(&needs, &GAPS, &room(), Turning::SideBySide, &[0.0; 3]);
    assert_eq!(starts.first(), Some(&0));
    assert_eq!(starts.last(), Some(&3));
    assert_eq!(
        starts
            .windows(2)
            .find(|pair| pair[0] <= 1 && 1 < pair[1])
            .map(|pair| pair[1] - pair[0]),
        Some(1)
    );
}

#[test]
fn nothing_makes_one_page() {
    assert_eq!(pages(&[], &GAPS, &room(), Turning::SideBySide, &[]), [0, 0]);
}

fn needs() -> impl Strategy<Value = Vec<Need>> {
    prop::collection::vec((0.0..150.0, 0.0..150.0), 1..40)
        .prop_map(|all| all.into_iter().map(|(above, below)| need(above, below)).collect())
}

proptest! {
    #[test]
    fn every_system_stands_on_one_page_in_order(needs in needs(), double in any::<bool>()) {
        let turning = if double { Turning::DoubleSided } else { Turning::SideBySide };
        let turns = vec![BAD_TURN; needs.len()];
        let starts = pages(&needs, &GAPS, &room(), turning, &turns);
        prop_assert_eq!(starts[0], 0);
        prop_assert_eq!(*starts.last().unwrap(), needs.len());
        prop_assert!(starts.windows(2).all(|pair| pair[0] < pair[1]));
    }

    #[test]
    fn no_page_is_fuller_than_it_can_be(needs in needs()) {
        let starts = pages(&needs, &GAPS, &room(), Turning::SideBySide, &vec![0.0; needs.len()]);
        for (page, pair) in starts.windows(2).enumerate() {
            let systems = &needs[pair[0]..pair[1]];
            let most = if page == 0 { room().first } else { room().other };
            prop_assert!(least_height(systems, &GAPS) <= most);
            // And spread out they stay on it, the lowest line too.
            let tops = spread(systems, &GAPS, most, pair[1] != needs.len());
            let last = systems.last().unwrap();
            prop_assert!(tops.last().unwrap() + last.staff + last.below <= most + 1e-6);
            prop_assert!(tops[0] >= systems[0].above - 1e-9);
            for (pair, tops) in systems.windows(2).zip(tops.windows(2)) {
                let white = tops[1] - pair[1].above - (tops[0] + pair[0].staff + pair[0].below);
                prop_assert!(white >= GAPS.least - 1e-6, "systems {white} apart");
            }
        }
    }

    #[test]
    fn the_choice_is_never_worse_than_filling_page_by_page(
        needs in needs(),
        seed in prop::collection::vec(0.0..BAD_TURN, 40),
        double in any::<bool>(),
    ) {
        let turning = if double { Turning::DoubleSided } else { Turning::SideBySide };
        let turns = &seed[..needs.len()];
        let starts = pages(&needs, &GAPS, &room(), turning, turns);
        let filled = greedy(&needs, &room());
        let best = counted(&starts, &needs, &room(), turning, turns);
        prop_assert!(best <= counted(&filled, &needs, &room(), turning, turns) + 1e-6);
        prop_assert!(best < OVERFULL);
    }

    #[test]
    fn for_few_systems_no_choice_at_all_is_better(
        needs in prop::collection::vec((0.0..150.0, 0.0..150.0), 1..11)
            .prop_map(|all| all.into_iter().map(|(a, b)| need(a, b)).collect::<Vec<_>>()),
        seed in prop::collection::vec(0.0..BAD_TURN, 11),
        double in any::<bool>(),
    ) {
        let turning = if double { Turning::DoubleSided } else { Turning::SideBySide };
        let turns = &seed[..needs.len()];
        let small = Room { first: 420.0, other: 500.0, foot: 40.0 };
        let best = counted(&pages(&needs, &GAPS, &small, turning, turns), &needs, &small, turning, turns);
        // Every way to break: a bit for each boundary.
        for ways in 0_u32..1 << (needs.len() - 1) {
            let mut starts = vec![0];
            starts.extend((1..needs.len()).filter(|at| ways >> (at - 1) & 1 == 1));
            starts.push(needs.len());
            prop_assert!(best <= counted(&starts, &needs, &small, turning, turns) + 1e-6, "{starts:?}");
        }
    }

    #[test]
    fn more_white_is_never_lower(needs in needs(), a in 0.0..100.0, b in 0.0..100.0) {
        let (less, more) = if a < b { (a, b) } else { (b, a) };
        prop_assert!(height(&needs, &GAPS, less) <= height(&needs, &GAPS, more) + 1e-9);
    }
}
