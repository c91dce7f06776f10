//! How are movements and choices said? In a teacher's words, with the fingers' plain names.

use super::price::{Other, Way, moved, slide_travel};
use instruments::fingering::{Chart, Digit, Ease, Layout, Movement, Slide, digits_words, keys_words};

/// From so many fingers on, their number says more than their names.
const MANY: usize = 4;

/// What a player does between two ways: `the left little finger slides from the G♯ key to the low C♯ key`.
pub(super) fn what_moves(chart: &Chart, from: &Way, to: &Way) -> String {
    let travel = slide_travel(from, to);
    if chart.layout == Layout::Slide {
        return slide_words(from, to, travel);
    }
    let moved = moved(chart, from, to);
    if let Layout::Valves(_) = chart.layout {
        return valve_words(&moved);
    }
    if let Some(slide) = moved.slides.first() {
        let verb = if slide.ease == Ease::Pivot {
            "rolls"
        } else {
            "slides"
        };
        return format!("the {} {verb} {}", slide.digit.words(), keys_of(from, slide));
    }
    let count = moved.count();
    let many = if count >= MANY {
        format!("{count} fingers move")
    } else {
        format!("{} {}", digits_words(&moved.digits()), moves(count))
    };
    if let Some((up, down)) = flip(&moved) {
        let (comes, goes) = (
            if up.len() == 1 { "comes" } else { "come" },
            if down.len() == 1 { "goes" } else { "go" },
        );
        let pair = format!(
            "the {} {comes} up as the {} {goes} down",
            digits_words(&up),
            digits_words(&down)
        );
        return if count >= MANY {
            format!("{many}, in one hand some up and some down")
        } else {
            pair
        };
    }
    if moved.hands_against() {
        return format!("{many}, one hand closing as the other opens");
    }
    many
}

fn moves(count: usize) -> &'static str {
    if count == 1 { "moves" } else { "move" }
}

/// `from the F/C key to the E♭ key over the rollers`; what stays pressed needs no word.
fn keys_of(way: &Way, slide: &Slide) -> String {
    let (digit, chart) = (slide.digit, way.fingering.chart);
    let from = keys_words(chart, digit, slide.from.without(slide.to));
    let to = keys_words(chart, digit, slide.to.without(slide.from));
    let rollers = if slide.ease == Ease::Rollers {
        " over the rollers"
    } else {
        ""
    };
    match (from.is_empty(), to.is_empty()) {
        (true, _) => format!("onto {to} as well{rollers}"),
        (_, true) => format!("off {from}{rollers}"),
        _ => format!("from {from} to {to}{rollers}"),
    }
}

/// The fingers of the hand in which some come up while others go down; the left hand first.
fn flip(moved: &Movement) -> Option<(Vec<Digit>, Vec<Digit>)> {
    [true, false].into_iter().find_map(|left| {
        let of_hand = |digits: &[Digit]| -> Vec<Digit> {
            digits
                .iter()
                .copied()
                .filter(|digit| digit.is_left() == left)
                .collect()
        };
        (moved.against(left) > 0).then(|| (of_hand(&moved.up), of_hand(&moved.down)))
    })
}

fn valve_words(moved: &Movement) -> String {
    let digits = moved.digits();
    let numbers: Vec<&str> = digits.iter().filter_map(|digit| valve(*digit)).collect();
    let mut said = Vec::new();
    if digits.contains(&Digit::LT) {
        said.push("the thumb changes sides".to_owned());
    }
    match numbers.as_slice() {
        [] => {}
        [one] => said.push(format!("valve {one} moves")),
        [most @ .., last] => said.push(format!("valves {} and {last} move", most.join(", "))),
    }
    said.join(", ")
}

const fn valve(digit: Digit) -> Option<&'static str> {
    match digit {
        Digit::R1 => Some("1"),
        Digit::R2 => Some("2"),
        Digit::R3 => Some("3"),
        Digit::R4 => Some("4"),
        _ => None,
    }
}

/// `the right index finger`, on brass `valve 1`.
fn named(chart: &Chart, digits: &[Digit]) -> String {
    if !matches!(chart.layout, Layout::Valves(_)) {
        return format!("the {}", digits_words(digits));
    }
    let each: Vec<String> = digits
        .iter()
        .map(|digit| valve(*digit).map_or_else(|| "the thumb".to_owned(), |number| format!("valve {number}")))
        .collect();
    each.join(" and ")
}

fn slide_words(from: &Way, to: &Way, travel: i32) -> String {
    let trigger = |way: &Way| way.fingering.position.is_some_and(|position| position.trigger);
    let mut said = Vec::new();
    if travel != 0 {
        let direction = if travel > 0 { "out" } else { "in" };
        let (a, b) = (&from.fingering.name, &to.fingering.name);
        said.push(format!("the slide goes {direction} from {a} to {b}"));
    }
    if trigger(from) != trigger(to) {
        said.push("the thumb valve changes".to_owned());
    }
    said.join(", ")
}

/// Why a note is taken another way than the first: what that saves just before and just after it.
pub(super) fn reason(chart: &Chart, basic: [Option<[&Way; 2]>; 2], chosen: [Option<[&Way; 2]>; 2]) -> String {
    if chart.layout == Layout::Slide {
        return slide_reason(basic, chosen);
    }
    let all = |pairs: [Option<[&Way; 2]>; 2]| -> Vec<Movement> {
        pairs
            .into_iter()
            .flatten()
            .map(|[from, to]| moved(chart, from, to))
            .collect()
    };
    let (before, after) = (all(basic), all(chosen));
    let slid_now: Vec<Digit> = after.iter().flat_map(|m| &m.slides).map(|s| s.digit).collect();
    let avoided = before
        .iter()
        .flat_map(|m| &m.slides)
        .find(|slide| !slid_now.contains(&slide.digit));
    if let (Some(slide), Some([way, _])) = (avoided, basic.into_iter().flatten().next()) {
        return format!(
            "avoids sliding the {} {}",
            slide.digit.words(),
            keys_of(way, slide)
        );
    }
    let flips = |movements: &[Movement]| movements.iter().filter(|m| flip(m).is_some()).count();
    if flips(&after) < flips(&before)
        && let Some((up, down)) = before.iter().find_map(flip)
    {
        return format!(
            "avoids {} coming up as {} goes down",
            named(chart, &up),
            named(chart, &down)
        );
    }
    let total = |movements: &[Movement]| movements.iter().map(Movement::count).sum::<usize>();
    let (basic_count, count) = (total(&before), total(&after));
    let what = if matches!(chart.layout, Layout::Valves(_)) {
        "valve"
    } else {
        "finger"
    };
    if count < basic_count {
        let moved = match count {
            0 => format!("no {what} moves"),
            1 => format!("1 {what} moves"),
            more => format!("{more} {what}s move"),
        };
        return format!("{moved} instead of {basic_count}, before and after it");
    }
    let against = |movements: &[Movement]| movements.iter().filter(|m| m.hands_against()).count();
    if against(&after) < against(&before) {
        return "keeps the hands from moving against each other".to_owned();
    }
    let [before, after] = chosen;
    let differs = |way: &Way| way.other != Other::First;
    match (
        before.is_some_and(|[from, _]| differs(from)),
        after.is_some_and(|[_, to]| differs(to)),
    ) {
        (true, _) => "goes on from the fingering of the note before".to_owned(),
        (_, true) => "leads to the fingering of the note after".to_owned(),
        _ => "lets the notes around it lie better".to_owned(),
    }
}

fn slide_reason(basic: [Option<[&Way; 2]>; 2], chosen: [Option<[&Way; 2]>; 2]) -> String {
    let travel = |pairs: [Option<[&Way; 2]>; 2]| -> i32 {
        pairs
            .into_iter()
            .flatten()
            .map(|[from, to]| slide_travel(from, to).abs())
            .sum()
    };
    let (before, after) = (travel(basic), travel(chosen));
    if after == 0 && before > 0 {
        return format!("the slide stays instead of moving {}", positions(before));
    }
    if after < before {
        return format!(
            "the slide moves {} instead of {}, before and after it",
            positions(after),
            positions(before)
        );
    }
    "lets the slide go on in one direction".to_owned()
}

fn positions(tenths: i32) -> String {
    let whole = tenths / 10;
    match (whole, tenths % 10) {
        (1, 0) => "1 position".to_owned(),
        (_, 0) => format!("{whole} positions"),
        (_, part) => format!("{whole}.{part} positions"),
    }
}
