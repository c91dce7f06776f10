//! Which key, and where does it leave it? Its relative is half right; the wrong ones are those that a misread signature gives.

use super::pick::Lots;
use super::signs::{CHOICES, near, pointing};
use super::{Choice, Looked, Made, Spot, Worth};
use notation::{Alter, BarIndex, Rational, Step, alter_sign};
use survey::Evidence;
use survey::key::KeyAnswer;

/// A local key surer than this is firm. Source: `survey::key::KeyAnswer::regions`.
const FIRM: f64 = 0.55;
/// A second key at least so probable can be argued for. Ours.
const ARGUABLE: f64 = 0.2;

/// The evidence for a key that is seen quickest, with its bars; what proves nothing is left out.
fn proof(evidence: &[Evidence]) -> (String, Vec<BarIndex>) {
    const QUICKEST: [&str; 4] = [
        "the close is",
        "the last note played",
        "the leading note",
        "the signature",
    ];
    let rank = |says: &str| {
        QUICKEST
            .iter()
            .position(|start| says.starts_with(start))
            .unwrap_or(QUICKEST.len())
    };
    let mut told: Vec<&Evidence> = evidence
        .iter()
        .filter(|e| !e.says.contains("proves nothing"))
        .collect();
    told.sort_by_key(|evidence| rank(&evidence.says));
    told.truncate(2);
    let says: Vec<&str> = told.iter().map(|evidence| evidence.says.as_str()).collect();
    let bars = told
        .iter()
        .filter_map(|evidence| evidence.place)
        .map(|place| place.bar);
    (says.join("; "), bars.collect())
}

type Tonic = (Step, i8);

/// `B♭ major`.
fn key_name((step, alter): Tonic, mode: &str) -> String {
    let alter: Alter = Rational::whole(i64::from(alter));
    format!("{}{} {mode}", step.letter(), alter_sign(alter))
}

/// Place on the line of fifths, C is 0.
fn fifths((step, alter): Tonic) -> i32 {
    step.fifths() + 7 * i32::from(alter)
}

/// The tonic at a place on the line of fifths.
fn tonic(fifths: i32) -> Tonic {
    const LETTERS: [Step; 7] = [Step::F, Step::C, Step::G, Step::D, Step::A, Step::E, Step::B];
    let letter = usize::try_from((fifths + 1).rem_euclid(7)).unwrap_or(0);
    let alter = i8::try_from((fifths + 1).div_euclid(7)).unwrap_or(0);
    (LETTERS.get(letter).copied().unwrap_or(Step::C), alter)
}

/// The other mode of the same signature.
fn relative(key: Tonic, mode: &str) -> (Tonic, &'static str) {
    if mode == "minor" {
        (tonic(fifths(key) - 3), "major")
    } else {
        (tonic(fifths(key) + 3), "minor")
    }
}

pub(super) fn key(looked: &Looked, lots: &mut Lots) -> Option<Made> {
    let answer = looked
        .survey
        .key
        .as_ref()
        .filter(|answer| answer.certainty > 0.0)?;
    let (why, bars) = proof(&answer.evidence);
    let right = Choice::new(Worth::Right, key_name(answer.tonic, answer.scale), why, bars);
    let others = other_keys(answer);
    let mut choose = lots.one("Which key?", vec![right], others, CHOICES);
    // By letter, as names are looked up.
    choose.choices.sort_by(|one, other| one.says.cmp(&other.says));
    Some(Made {
        choose: Some(choose),
        point: Some(pointing(
            "Where does it leave that key? Point at where each stretch begins.",
            leavings(looked, answer),
            "As far as a single line tells, it stays in its key.",
        )),
        ..Made::default()
    })
}

fn other_keys(answer: &KeyAnswer) -> Vec<Choice> {
    let home = (answer.tonic, answer.mode);
    let mut others: Vec<Choice> = Vec::new();
    let mut add = |worth: Worth, (key, mode): (Tonic, &str), why: String| {
        let says = key_name(key, mode);
        let known =
            says == key_name(answer.tonic, answer.scale) || others.iter().any(|other| other.says == says);
        if !known && fifths(key).abs() <= 11 {
            others.push(Choice::new(worth, says, why, Vec::new()));
        }
    };
    if answer.scale != answer.mode {
        add(
            Worth::Doubtful,
            home,
            "the same home, and the third of that mode".to_owned(),
        );
    }
    if let Some(rival) = answer
        .runner_up
        .as_ref()
        .filter(|rival| rival.certainty >= ARGUABLE)
    {
        let why = format!("it can be argued for, but {}", rival.why_not);
        add(Worth::Doubtful, (rival.tonic, rival.mode), why);
    }
    let other_mode = relative(answer.tonic, answer.mode);
    add(Worth::Doubtful, other_mode, "the signature fits both".to_owned());
    let parallel = if answer.mode == "minor" { "major" } else { "minor" };
    add(Worth::Wrong, (answer.tonic, parallel), String::new());
    let at = fifths(answer.tonic);
    for step in [1, -1, 2, -2] {
        let says = if step > 0 {
            "a sharp too many, or a flat too few"
        } else {
            "a flat too many, or a sharp too few"
        };
        add(Worth::Wrong, (tonic(at + step), answer.mode), says.to_owned());
    }
    add(
        Worth::Wrong,
        (tonic(-at), answer.mode),
        "sharps and flats are mistaken for each other".to_owned(),
    );
    others
}

fn leavings(looked: &Looked, answer: &KeyAnswer) -> Vec<Spot> {
    let mut spots: Vec<Spot> = Vec::new();
    for pair in answer.signatures.windows(2) {
        let [before, after] = pair else { continue };
        if before.signature.altered() != after.signature.altered() {
            let why = format!("the signature changes to {}", after.signature.name());
            spots.push(Spot::new(Worth::Right, near(after.place.bar), why));
        }
    }
    let home = (answer.tonic, answer.mode);
    for region in &answer.regions {
        let name = key_name(region.tonic, &region.mode);
        let here = region.tonic == home.0 && (region.mode == home.1 || region.mode == answer.scale);
        let told = spots.iter().any(|spot| spot.bars.contains(&region.from));
        if here || told {
            continue;
        }
        let worth = if region.certainty > FIRM {
            Worth::Right
        } else {
            Worth::Doubtful
        };
        let why = if worth == Worth::Right {
            format!("about here it goes to {name}")
        } else {
            format!("perhaps {name}, a single line leaves it open")
        };
        let mut bars: Vec<BarIndex> = (region.from.0..=region.to.0).map(BarIndex).collect();
        bars.extend(region.from.0.checked_sub(1).map(BarIndex));
        spots.push(Spot::new(worth, bars, why).to(region.to));
    }
    spots.sort_by_key(|spot| spot.bars.first().copied());
    let last = looked.ctx.piece.bars.len();
    spots.retain(|spot| spot.bars.first().is_some_and(|bar| bar.get() < last));
    spots
}
