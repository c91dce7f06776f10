//! Which reading is taken where the file gives several? The lemma, the correction, the regular form; the rest is reported.
//!
//! Source: MEI 5.0, modules MEI.critapp and MEI.edittrans.

use super::music::Music;
use crate::report::Why;
use crate::xml::El;

/// Elements that only say how sure or how damaged their content is: the content is taken.
const WRAPPERS: [&str; 13] = [
    "supplied", "unclear", "corr", "sic", "reg", "orig", "add", "damage", "expan", "abbr", "restore", "lem",
    "rdg",
];

/// In a choice, what is taken first.
const PREFERRED: [&str; 5] = ["corr", "reg", "add", "expan", "unclear"];

/// True if an element outside of measures only wraps others.
pub(super) fn is_wrapper(name: &str) -> bool {
    WRAPPERS.contains(&name)
}

/// The one of several readings that is taken.
pub(super) fn chosen<'t, 'a>(el: El<'t, 'a>) -> Option<El<'t, 'a>> {
    if el.name() == "app" {
        return el.child("lem").or_else(|| el.child("rdg"));
    }
    PREFERRED
        .iter()
        .find_map(|name| el.child(name))
        .or_else(|| el.children().find(|child| child.name() != "del"))
}

impl<'a> Music<'a> {
    /// The children of an element, editorial markup resolved.
    pub(super) fn content<'t>(&mut self, el: El<'t, 'a>) -> Vec<El<'t, 'a>> {
        let mut found = Vec::new();
        self.add_content(el, &mut found);
        found
    }

    fn add_content<'t>(&mut self, el: El<'t, 'a>, found: &mut Vec<El<'t, 'a>>) {
        for child in el.children() {
            self.resolve(child, found);
        }
    }

    /// The element itself, or what it stands for.
    pub(super) fn resolve<'t>(&mut self, el: El<'t, 'a>, found: &mut Vec<El<'t, 'a>>) {
        match el.name() {
            "app" | "choice" | "subst" => {
                if let Some(one) = chosen(el) {
                    self.add_content(one, found);
                }
                self.not_taken(el);
            }
            "del" => self.unread("del", el.name(), Why::NoPlace),
            name if is_wrapper(name) => self.add_content(el, found),
            _ => found.push(el),
        }
    }

    fn not_taken(&mut self, el: El<'_, 'a>) {
        let taken = chosen(el).map(El::range);
        for other in el.children().filter(|child| Some(child.range()) != taken) {
            self.unread(other.name(), el.name(), Why::NoPlace);
        }
    }
}
