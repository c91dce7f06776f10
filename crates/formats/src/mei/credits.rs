//! What stands on the title page? Titles, people, rights, programs, from `meiHead`.
//!
//! Source: MEI 5.0, module MEI.header; older names (`workDesc`, `workList`, `composer` in `titleStmt`) from MEI 3 and 4.

use super::music::Music;
use super::text::words;
use crate::xml::El;

/// More people, rights or titles than any title page has.
const MOST: usize = 500;

/// Elements that name a person, each of which is also the person's role.
const PEOPLE: [&str; 9] = [
    "composer",
    "lyricist",
    "librettist",
    "arranger",
    "author",
    "editor",
    "contributor",
    "creator",
    "funder",
];

impl<'a> Music<'a> {
    /// Reads a `meiHead`.
    pub(super) fn head_of_file(&mut self, el: El<'_, 'a>) {
        self.know_own(el);
        if self.own.is_some() {
            return;
        }
        if let Some(file) = el.child("fileDesc") {
            if let Some(statement) = file.child("titleStmt") {
                self.title_statement(statement);
            }
            if let Some(published) = file.child("pubStmt") {
                self.rights(published);
            }
        }
        if let Some(encoding) = el.child("encodingDesc") {
            for name in encoding
                .child("appInfo")
                .into_iter()
                .flat_map(El::children)
                .filter(|app| app.name() == "application")
            {
                let said = name
                    .child("name")
                    .map(|name| words(self.text, name))
                    .unwrap_or_default();
                let version = name.attr("version").unwrap_or_default();
                let said = format!("{said} {version}").trim().to_owned();
                if !said.is_empty() && self.score.piece.provenance.encoding.len() < MOST {
                    self.score.piece.provenance.encoding.push(said);
                }
            }
        }
        for list in ["workList", "workDesc"] {
            let works = el
                .child(list)
                .into_iter()
                .flat_map(El::children)
                .filter(|work| work.name() == "work");
            for work in works {
                self.title_statement(work.child("titleStmt").unwrap_or(work));
                let numbers = work.children().filter(|child| child.name() == "identifier");
                for number in numbers {
                    let said = words(self.text, number);
                    if !said.is_empty()
                        && self.score.piece.credits.numbers.len() < MOST
                        && !self.score.piece.credits.numbers.contains(&said)
                    {
                        self.score.piece.credits.numbers.push(said);
                    }
                }
            }
        }
    }

    fn title_statement(&mut self, el: El<'_, 'a>) {
        for child in el.children() {
            match child.name() {
                "title" => self.title(child),
                "respStmt" => child.children().for_each(|person| self.person(person)),
                name if PEOPLE.contains(&name) => self.person(child),
                _ => {}
            }
        }
    }

    fn title(&mut self, el: El<'_, 'a>) {
        let parts: Vec<El<'_, 'a>> = el
            .children()
            .filter(|child| child.name() == "titlePart")
            .collect();
        if !parts.is_empty() && el.text().is_empty() {
            parts.into_iter().for_each(|part| self.title(part));
            return;
        }
        let said = words(self.text, el);
        if said.is_empty() {
            return;
        }
        let credits = &mut self.score.piece.credits;
        match el.attr("type") {
            Some("subordinate" | "subtitle" | "movement") => {
                credits.movement.get_or_insert(said);
            }
            Some("number") if credits.numbers.len() < MOST => credits.numbers.push(said),
            Some("abbreviated" | "alternative" | "translated" | "uniform" | "desc" | "proper")
                if credits.title.is_some() => {}
            _ if credits.title.is_none() => credits.title = Some(said),
            _ => {}
        }
    }

    fn person(&mut self, el: El<'_, 'a>) {
        let names: Vec<El<'_, 'a>> = el
            .children()
            .filter(|child| matches!(child.name(), "persName" | "corpName" | "name"))
            .collect();
        let people = if names.is_empty() || !PEOPLE.contains(&el.name()) {
            vec![el]
        } else {
            names
        };
        for person in people {
            let said = words(self.text, person);
            let role = match (person.attr("role"), PEOPLE.contains(&el.name())) {
                (Some(role), _) if !role.is_empty() => role,
                (_, true) => el.name(),
                _ => "",
            };
            if matches!(person.name(), "resp") {
                continue;
            }
            let known = (role.to_owned(), said);
            let people = &mut self.score.piece.credits.people;
            let again = people
                .iter()
                .any(|(of, name)| *name == known.1 && (of == role || role.is_empty()));
            if !known.1.is_empty() && people.len() < MOST && !again {
                people.push(known);
            }
        }
    }

    fn rights(&mut self, el: El<'_, 'a>) {
        let Some(availability) = el.child("availability") else {
            return;
        };
        for child in availability.children() {
            if matches!(
                child.name(),
                "useRestrict" | "accessRestrict" | "p" | "licence" | "sysReq"
            ) {
                let said = words(self.text, child);
                if !said.is_empty() && self.score.piece.credits.rights.len() < MOST {
                    self.score.piece.credits.rights.push(said);
                }
            }
        }
    }
}
