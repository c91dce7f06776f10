//! Which of the engraver's options say what is asked?

use crate::refusal;
use job::{AskEngrave, Breaks, Refusal, RefusalKind, Weights};
use serde_json::{Map, Value, json};
use std::borrow::Cow;

/// How many systems the engraver draws on one page of its own: see the module's head.
const SYSTEMS_A_PAGE: u32 = 8;
/// The engraver's widths and heights are tenths of a unit.
const TENTH: f64 = 10.0;

/// A thickness: the option, the engraver's usual value, and the least and most that it takes.
///
/// Source: the engraver's own list of options (`get_available_options`), against which a test holds this table.
type Thickness = (&'static str, f64, f64, f64);

const STAFF: [Thickness; 1] = [("staffLineWidth", 0.15, 0.10, 0.30)];
const STEM: [Thickness; 3] = [
    ("stemWidth", 0.20, 0.10, 0.50),
    ("hairpinThickness", 0.20, 0.10, 0.80),
    ("tupletBracketThickness", 0.20, 0.10, 0.80),
];
const BARLINE: [Thickness; 3] = [
    ("barLineWidth", 0.30, 0.10, 0.80),
    ("thickBarlineThickness", 1.0, 0.50, 2.0),
    ("repeatEndingLineThickness", 0.15, 0.10, 2.0),
];
const LEDGER: [Thickness; 1] = [("ledgerLineThickness", 0.25, 0.10, 0.50)];
const SLUR: [Thickness; 4] = [
    ("slurMidpointThickness", 0.60, 0.20, 1.20),
    ("slurEndpointThickness", 0.10, 0.05, 0.25),
    ("tieMidpointThickness", 0.50, 0.20, 1.0),
    ("tieEndpointThickness", 0.10, 0.05, 0.25),
];
const SMALL: [Thickness; 2] = [
    ("graceFactor", 0.75, 0.50, 1.0),
    ("fingeringScale", 0.75, 0.25, 1.0),
];

/// The widest and narrowest system, in units.
const WIDTHS: std::ops::RangeInclusive<f64> = 1000.0..=1_000_000.0;

/// The engraver's options as JSON, and what of the asked it can't do.
///
/// # Errors
/// If a number is none or far off.
pub fn options(ask: &AskEngrave) -> Result<(String, Vec<String>), Refusal> {
    if !WIDTHS.contains(&ask.width) || !(0.5..=3.0).contains(&ask.spacing) {
        let what = format!(
            "a system {} units wide with {} times the usual space can't be engraved",
            ask.width, ask.spacing
        );
        return Err(refusal(RefusalKind::Request, what));
    }
    let mut complaints = Vec::new();
    let mut options = steady();
    let mut put = |name: &str, value: Value| {
        options.insert(name.to_owned(), value);
    };
    put("breaks", json!(breaks_word(ask.breaks)));
    put("pageWidth", json!((ask.width / TENTH).round()));
    put("spacingLinear", json!((0.25 * ask.spacing).min(1.0)));
    if ask.breaks == Breaks::OneLine {
        put("adjustPageWidth", json!(true));
        put("noJustification", json!(true));
    }
    if ask.breaks == Breaks::MarkedAndFlow {
        // Every marked break counts, however short its line.
        put("breaksSmartSb", json!(0.0));
    }
    for (name, value, complaint) in thicknesses(&ask.weights)? {
        put(name, json!(value));
        complaints.extend(complaint);
    }
    Ok((Value::Object(options).to_string(), complaints))
}

/// What never changes: our font, all movements, “8va” rather than a bare 8, long pages without margins, head or foot, output
/// that is the same every time.
fn steady() -> Map<String, Value> {
    let steady = json!({
        "inputFrom": "mei",
        "font": fonts::MUSIC_FAMILY,
        "fontFallback": "Bravura",
        "smuflTextFont": "none",
        "header": "none",
        "footer": "none",
        "pageHeight": 60_000,
        "adjustPageHeight": true,
        "systemMaxPerPage": SYSTEMS_A_PAGE,
        "pageMarginTop": 0,
        "pageMarginBottom": 0,
        "pageMarginLeft": 0,
        "pageMarginRight": 0,
        "condense": "none",
        "mdivAll": true,
        "octaveAlternativeSymbols": true,
        "scale": 100,
        "svgFormatRaw": true,
        "svgRemoveXlink": true,
        "svgViewBox": true,
        "xmlIdChecksum": true,
    });
    match steady {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}

fn breaks_word(breaks: Breaks) -> &'static str {
    match breaks {
        Breaks::Flow => "auto",
        Breaks::AsMarked => "line",
        Breaks::MarkedAndFlow => "smart",
        Breaks::OneLine => "none",
    }
}

/// The MEI with its breaks as the engraver takes them. Page breaks become system breaks (pages are ours to compose); where a
/// part to be broken as marked has no mark at all, one stands before its first bar, or the engraver would break at will.
pub fn breaks(mei: &str, breaks: Breaks) -> Cow<'_, str> {
    match breaks {
        Breaks::Flow | Breaks::OneLine => Cow::Borrowed(mei),
        Breaks::MarkedAndFlow => Cow::Owned(systems(mei)),
        Breaks::AsMarked if mei.contains("<sb") || mei.contains("<pb") => Cow::Owned(systems(mei)),
        Breaks::AsMarked => match mei.find("<measure") {
            Some(place) => Cow::Owned(format!("{}<sb/>{}", &mei[..place], &mei[place..])),
            None => Cow::Borrowed(mei),
        },
    }
}

fn systems(mei: &str) -> String {
    mei.replace("<pb", "<sb").replace("</pb>", "</sb>")
}

type Set = (&'static str, f64, Option<String>);

fn thicknesses(weights: &Weights) -> Result<Vec<Set>, Refusal> {
    let groups: [(&str, f64, &[Thickness]); 6] = [
        ("staff lines", weights.staff, &STAFF),
        ("stems", weights.stem, &STEM),
        ("barlines", weights.barline, &BARLINE),
        ("ledger lines", weights.ledger, &LEDGER),
        ("slurs", weights.slur, &SLUR),
        ("small signs", weights.small_signs, &SMALL),
    ];
    let mut all = Vec::new();
    for (what, factor, options) in groups {
        if !(0.1..=10.0).contains(&factor) {
            let what = format!("{what} can't be {factor} times as thick as usual");
            return Err(refusal(RefusalKind::Request, what));
        }
        all.extend(options.iter().map(|option| thickness(factor, option)));
    }
    Ok(all)
}

fn thickness(factor: f64, (name, usual, least, most): &Thickness) -> Set {
    let wanted = usual * factor;
    let value = wanted.clamp(*least, *most);
    let complaint = ((value - wanted).abs() > 1e-9).then(|| {
        let reached = value / usual;
        format!("{name}: {factor} times the usual was asked, the engraver goes to {reached:.2}")
    });
    (name, value, complaint)
}

#[cfg(test)]
mod tests {
    use super::{BARLINE, LEDGER, SLUR, SMALL, STAFF, STEM, breaks, options};
    use job::{AskEngrave, Breaks, Weights};
    use serde_json::Value;

    fn ask() -> AskEngrave {
        AskEngrave {
            width: 18_000.0,
            breaks: Breaks::MarkedAndFlow,
            spacing: 1.0,
            weights: Weights::default(),
            ink: false,
        }
    }

    /// The engraver takes unknown options without a word, so each that we set is held against its own list.
    #[test]
    fn every_option_is_one_of_the_engravers_with_the_range_that_we_think() {
        let toolkit = verovio_sys::ffi::new_toolkit(false);
        let known: Value = serde_json::from_str(&verovio_sys::ffi::get_available_options(&toolkit)).unwrap();
        let find = |name: &str| {
            let groups = known["groups"].as_object().unwrap();
            groups.values().find_map(|group| group["options"].get(name))
        };
        for breaks in [
            Breaks::Flow,
            Breaks::AsMarked,
            Breaks::MarkedAndFlow,
            Breaks::OneLine,
        ] {
            let (set, _) = options(&AskEngrave { breaks, ..ask() }).unwrap();
            let set: Value = serde_json::from_str(&set).unwrap();
            for (name, value) in set.as_object().unwrap() {
                let option = find(name).unwrap_or_else(|| panic!("the engraver knows no option {name}"));
                if let Some(words) = option.get("values").and_then(Value::as_array) {
                    assert!(words.contains(value), "{name} can't be {value}");
                }
                if let (Some(least), Some(most)) = (option["min"].as_f64(), option["max"].as_f64()) {
                    let value = value.as_f64().unwrap();
                    assert!(
                        (least..=most).contains(&value),
                        "{name}: {value} not in {least}..{most}"
                    );
                }
            }
        }
        let tables = [STAFF.as_slice(), &STEM, &BARLINE, &LEDGER, &SLUR, &SMALL];
        for (name, usual, least, most) in tables.into_iter().flatten() {
            let option = find(name).unwrap();
            let is = |key: &str| option[key].as_f64().unwrap();
            assert!((is("default") - usual).abs() < 1e-9, "{name}");
            assert!(
                (is("min") - least).abs() < 1e-9 && (is("max") - most).abs() < 1e-9,
                "{name}"
            );
        }
    }

    #[test]
    fn what_the_engraver_cannot_thicken_is_told() {
        let mut thick = ask();
        thick.weights.staff = 1.5;
        assert_eq!(options(&thick).unwrap().1, Vec::<String>::new());
        thick.weights.staff = 3.0;
        assert_eq!(
            options(&thick).unwrap().1,
            ["staffLineWidth: 3 times the usual was asked, the engraver goes to 2.00"]
        );
        thick.weights.staff = f64::NAN;
        assert!(options(&thick).is_err());
    }

    #[test]
    fn a_part_broken_as_marked_without_a_mark_gets_one_before_its_first_bar() {
        let mei = "<section><measure n=\"1\"/></section>";
        assert_eq!(
            breaks(mei, Breaks::AsMarked),
            "<section><sb/><measure n=\"1\"/></section>"
        );
        assert_eq!(breaks("<pb/><measure/>", Breaks::AsMarked), "<sb/><measure/>");
        assert_eq!(breaks(mei, Breaks::Flow), mei);
    }
}
