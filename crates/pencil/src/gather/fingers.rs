//! Which notes need a fingering written over them? Those that lie better with another than the usual one.

use super::{Draft, Gather, at};
use crate::{Matter, worth};
use instruments::fingering::{Fingering, Layout, diagram, fingering_words};
use load::fingers::Chosen;
use notation::{PencilPicture, PencilSign};

/// What a fingering keeps of its worth when the same note had it before: written once, it is remembered.
const REMEMBERED: f64 = 0.5;

pub(super) fn gather(gather: &mut Gather) {
    let Some(study) = gather.study else { return };
    let mut known: Vec<(notation::Pitch, &str)> = Vec::new();
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
        // Numbers say valves and slide positions at a glance; a woodwind's hands want a drawing.
        if mark.sign == PencilSign::FingeringDiagram {
            match picture(&chosen.fingering) {
                Some(picture) => mark.picture = Some(picture),
                None => mark.sign = PencilSign::Fingering,
            }
        }
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
    Some(PencilPicture {
        svg: format!(
            "<g class=\"fingering\" stroke=\"currentColor\" stroke-width=\"{stroke}\" stroke-linecap=\"round\">{drawing}</g>"
        ),
        width: *width,
        height: *height,
    })
}
