//! What is known of an element of the drawing while it is open?

use super::outline::Place;
use super::scan::Tag;

/// An open element.
pub struct Frame<'a> {
    /// The MEI element's name.
    pub class: &'a str,
    /// Its id; a later piece of a slur or hairpin over several systems has that of the whole.
    pub id: &'a str,
    /// The id of the measure around it.
    pub measure: &'a str,
    /// Where what is in it comes to lie.
    pub place: Place,
    /// The attributes that give words their looks.
    pub looks: String,
    /// The number of its box.
    pub slot: Option<usize>,
}

/// Which drawn things an element's box is around.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// Everything in it.
    All,
    /// What it draws itself, not what is in the elements inside.
    Own,
    /// The heads of its notes.
    Heads,
    /// The lines of the staff.
    Staff,
    /// It has no box.
    Nothing,
}

/// Which, for the elements of this name.
pub fn extent(class: &str) -> Extent {
    match class {
        "measure" | "staff" => Extent::Staff,
        "note" | "chord" => Extent::Heads,
        "beam" | "bTrem" | "fTrem" | "graceGrp" | "mRest" | "rest" | "stem" | "tuplet" => Extent::Own,
        "" | "layer" | "mdiv" | "notehead" | "page-margin" | "pb" | "sb" | "score" | "section" | "system" => {
            Extent::Nothing
        }
        _ => Extent::All,
    }
}

impl<'a> Frame<'a> {
    /// The system itself.
    pub fn system(place: Place) -> Frame<'a> {
        Frame {
            class: "system",
            id: "",
            measure: "",
            place,
            looks: String::new(),
            slot: None,
        }
    }

    /// An element that opens inside another; `look` is what the engraver's style sheet gives it.
    pub fn inside(around: &Frame<'a>, tag: &Tag<'a>, look: &str) -> Frame<'a> {
        let class = tag.class();
        let id = tag.get("id").unwrap_or_else(|| whole(tag));
        let place = match tag.get("transform").and_then(Place::read) {
            Some(place) => around.place.then(&place),
            None => around.place,
        };
        let mut looks = look.to_owned();
        for name in ["font-family", "font-style", "font-weight", "font-size"] {
            if let Some(value) = tag.get(name) {
                looks.push_str(&format!(" {name}=\"{value}\""));
            }
        }
        Frame {
            class,
            id,
            measure: if class == "measure" { id } else { around.measure },
            place,
            looks,
            slot: None,
        }
    }
}

/// The id of the whole of which this is a later piece: `class="slur id-s3 spanning"`.
fn whole<'a>(tag: &Tag<'a>) -> &'a str {
    let words = tag.get("class").unwrap_or("").split(' ').skip(1);
    words
        .filter_map(|word| word.strip_prefix("id-"))
        .next()
        .unwrap_or("")
}
