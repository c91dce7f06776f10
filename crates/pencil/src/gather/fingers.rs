//! Which notes need a fingering written over them? Those that lie better with another than the usual one.

use super::{Draft, Gather, at};
use crate::{Matter, worth};
use instruments::fingering::{Fingering, Layout, Use, diagram, fingering_words};
use load::Study;
use load::fingers::{Chosen, TrillFingering};
use notation::{PencilPicture, PencilSign, Pitch};

/// What a fingering keeps of its worth when the same note had it before: written once, it is remembered.
const REMEMBERED: f64 = 0.5;

pub(super) fn gather(gather: &mut Gather) {
    let Some(study) = gather.study else { return };
    trills(gather, study);
    let mut known: Vec<(Pitch, &str)> = Vec::new();
    for chosen in study.fingering.proposals().filter(|chosen| chosen.alternate) {
        let name: &str = &chosen.fingering.name;
        let before = known
            .iter()
            .filter(|known| **known == (chosen.written, name))
            .count();
        known.push((chosen.written, name));
        let value = worth::FINGERING * REMEMBERED.powi(i32::try_from(before).unwrap_or(i32::MAX));
        let reason = says(chosen);
        let draft = Draft::new(
            Matter::Fingerings,
            "fingers",
            at(chosen.place, chosen.event),
            reason,
            value,
        );
        let Some(mark) = gather.add(draft) else { return };
        mark.text = short(&chosen.fingering);
        // A name or numbers are what a teacher pencils; hands are drawn if she likes them so, or where there is no name.
        let nameless = matches!(name, "" | "plain");
        if mark.sign == PencilSign::FingeringDiagram || nameless {
            match picture(&chosen.fingering) {
                Some(picture) => {
                    mark.sign = PencilSign::FingeringDiagram;
                    mark.picture = Some(picture);
                }
                None => mark.sign = PencilSign::Fingering,
            }
        }
    }
}

/// Trills that have a fingering of their own, by the fingers that do them (`tr R1`); each pair of notes once at full worth.
fn trills(gather: &mut Gather, study: &Study) {
    let mut known: Vec<(Pitch, Pitch)> = Vec::new();
    let of_its_own = |trill: &&TrillFingering| {
        let pair = trill.fingerings.as_ref();
        pair.is_some_and(|(low, high)| low.use_for == Use::Trill || high.use_for == Use::Trill)
    };
    let trills = study.fingering.trills.iter().filter(of_its_own);
    for trill in trills.filter(|trill| trill.known && !trill.moves.is_empty()) {
        let pair = (trill.main, trill.upper);
        let before = known.iter().filter(|known| **known == pair).count();
        known.push(pair);
        let value = worth::TRILL * REMEMBERED.powi(i32::try_from(before).unwrap_or(i32::MAX));
        let reason = format!("{} to {}: {}", trill.main.sign(), trill.upper.sign(), trill.says);
        let anchor = at(trill.place, trill.event);
        let draft = Draft::new(Matter::Fingerings, "fingers", anchor, reason, value);
        let Some(mark) = gather.add(draft) else { return };
        let digits: Vec<&str> = trill.moves.iter().map(|digit| digit.sign()).collect();
        mark.sign = PencilSign::Fingering;
        mark.text = format!("tr {}", digits.join("+"));
    }
}

fn says(chosen: &Chosen) -> String {
    let fingering = &chosen.fingering;
    let how = match fingering.name.as_ref() {
        "" | "plain" => fingering_words(fingering),
        name => format!("{name} ({})", fingering_words(fingering)),
    };
    let why = chosen
        .reason
        .as_deref()
        .map(|why| format!("; {why}"))
        .unwrap_or_default();
    format!("{} {how}{why}", chosen.written.sign())
}

fn short(fingering: &Fingering) -> String {
    match fingering.name.as_ref() {
        "" | "plain" => fingering_words(fingering),
        name => name.to_owned(),
    }
}

/// The drawing of a woodwind's hands, without the frame of a picture of its own.
fn picture(fingering: &Fingering) -> Option<PencilPicture> {
    if fingering.layout != Layout::Woodwind {
        return None;
    }
    let svg = diagram(fingering);
    let open = svg.find("<svg")?;
    let end = open + svg.get(open..)?.find('>')? + 1;
    let head = svg.get(open..end)?;
    let body = svg.get(end..)?.strip_suffix("</svg>")?;
    let attribute = |name: &str| {
        let from = head.find(&format!(" {name}=\""))? + name.len() + 3;
        head.get(from..)?.split('"').next()
    };
    let sides: Vec<f64> = attribute("viewBox")?
        .split(' ')
        .filter_map(|side| side.parse().ok())
        .collect();
    let [_, _, width, height] = sides.as_slice() else {
        return None;
    };
    // The title would be said twice: the mark has its own.
    let drawing = body.split_once("</title>").map_or(body, |(_, drawing)| drawing);
    let stroke = attribute("stroke-width").unwrap_or("12");
    let (left, right) = across(drawing).unwrap_or((0.0, *width));
    let (left, right) = ((left - MARGIN).max(0.0), (right + MARGIN).min(*width));
    Some(PencilPicture {
        svg: format!(
            "<g class=\"fingering\" stroke=\"currentColor\" stroke-width=\"{stroke}\" stroke-linecap=\"round\" \
             transform=\"translate({} 0)\">{drawing}</g>",
            -left
        ),
        width: (right - left).max(1.0),
        height: *height,
    })
}

/// Paper left of the leftmost line of a drawing and right of the rightmost one.
const MARGIN: f64 = 20.0;

/// From where to where holes and frames of keys stand: a drawing leaves room for keys that a fingering does not press.
fn across(drawing: &str) -> Option<(f64, f64)> {
    let ends = drawing.split('<').filter_map(|element| {
        let number = |name: &str| -> Option<f64> {
            let from = element.find(&format!(" {name}=\""))? + name.len() + 3;
            element.get(from..)?.split('"').next()?.parse().ok()
        };
        if element.starts_with("circle") {
            let (middle, radius) = (number("cx")?, number("r")?);
            Some((middle - radius, middle + radius))
        } else if element.starts_with("rect") {
            let left = number("x")?;
            Some((left, left + number("width")?))
        } else {
            None
        }
    });
    ends.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_is_no_wider_than_what_is_in_it() {
        let chart = instruments::fingering::chart("oboe").expect("a chart");
        for (_, fingerings) in chart.entries() {
            for fingering in fingerings {
                let picture = picture(fingering).expect("a drawing");
                assert!(picture.width < 1300.0 && picture.width > 150.0 && picture.height > 1000.0);
                assert!(picture.svg.starts_with("<g class=\"fingering\"") && !picture.svg.contains("<title"));
            }
        }
    }
}
