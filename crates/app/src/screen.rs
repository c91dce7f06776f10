//! What stands around every screen? Head, style, scripts, the house's line; and the page that says what went wrong.

use crate::lan::Asker;
use maud::{DOCTYPE, Markup, html};

/// A screen.
pub(crate) struct Screen<'a> {
    /// What the window is called.
    pub title: &'a str,
    /// The secret that the page shows when it changes something.
    pub secret: &'a str,
    /// A class for the whole page.
    pub class: &'static str,
    /// Style sheets beside the house's own.
    pub styles: &'a [&'static str],
    /// The script that begins.
    pub script: Option<&'static str>,
    /// What stands in the house's line beside the way to the folder.
    pub line: Markup,
    /// The screen itself.
    pub body: Markup,
}

/// The whole page, for the teacher.
pub(crate) fn page(screen: &Screen) -> Markup {
    Asker::TEACHER.page(screen)
}

/// For whoever asks: a player's device has only the ways that are open to it.
impl Asker {
    /// The whole page.
    pub fn page(self, screen: &Screen) -> Markup {
        html! {
            (DOCTYPE)
            html lang="en" {
                head { (head(screen)) }
                body class=(screen.class) { (inside(self, screen)) }
            }
        }
    }

    /// The rest of a page that was begun.
    pub fn rest(self, screen: &Screen) -> String {
        format!("{}</body></html>", inside(self, screen).into_string())
    }
}

/// A page's beginning, for one that is not ready yet: its head, and what is shown until the rest comes. Lines and body of the screen
/// given are not asked for.
pub(crate) fn beginning(screen: &Screen, meanwhile: &Markup) -> String {
    let (head, class) = (head(screen).into_string(), screen.class);
    let (doctype, meanwhile) = (DOCTYPE.into_string(), meanwhile.clone().into_string());
    format!("{doctype}<html lang=\"en\"><head>{head}</head><body class=\"{class}\">{meanwhile}")
}

fn head(screen: &Screen) -> Markup {
    html! {
        meta charset="utf-8";
        meta name="viewport" content="width=device-width, initial-scale=1";
        meta name="color-scheme" content="light dark";
        meta name="foreread-secret" content=(screen.secret);
        title { (screen.title) }
        link rel="stylesheet" href="/fonts.css";
        link rel="stylesheet" href="/assets/house.css";
        @for style in screen.styles {
            link rel="stylesheet" href={ "/assets/" (style) };
        }
        link rel="icon" href="/icon.svg" type="image/svg+xml";
        script type="module" src="/assets/house.js" {}
        @if let Some(script) = screen.script {
            script type="module" src={ "/assets/" (script) } {}
        }
    }
}

fn inside(asker: Asker, screen: &Screen) -> Markup {
    let teacher = asker.player().is_none();
    html! {
        a class="skip" href="#main" { "Go to the page itself" }
        header class="house" {
            // A device that is not let in yet has no way anywhere.
            @if screen.class != "pair" {
                nav class="ways-home" aria-label="Foreread" {
                    @if teacher { a class="home" href="/" { "Folder" } }
                    a class="home" href="/today" { "Today" }
                    @if teacher { a class="home" href="/studio" { "Studio" } }
                    a class="home" href="/look" { "Look first" }
                }
            }
            (screen.line)
            button type="button" class="room" data-room="" aria-pressed="false" { "Dark room" }
        }
        main id="main" tabindex="-1" { (screen.body) }
        div id="said" class="unseen" role="status" aria-live="polite" {}
    }
}

/// A page that says what went wrong and where to go.
pub(crate) fn mistake(asker: Asker, what: &str) -> Markup {
    asker.page(&mistaken(asker, what))
}

/// The rest of a page that was begun and can't be made.
pub(crate) fn mistake_after_all(asker: Asker, what: &str) -> String {
    asker.rest(&mistaken(asker, what))
}

fn mistaken(asker: Asker, what: &str) -> Screen<'static> {
    let (said, advice) = what.split_once(" — ").unwrap_or((what, ""));
    Screen {
        title: "Foreread",
        secret: "",
        class: "mistake",
        styles: &[],
        script: None,
        line: html! {},
        body: html! {
            section class="slip" {
                h1 { "That did not work" }
                p { (sentence(said)) }
                @if !advice.is_empty() { p class="doing" { (sentence(advice)) } }
                @if asker.player().is_none() { p { a href="/" { "Back to the folder" } } }
                @else { p { a href="/today" { "Back to today" } } }
            }
        },
    }
}

/// With a capital letter and a full stop.
fn sentence(text: &str) -> String {
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{}{stop}", capital(text))
}

/// With a capital letter.
pub(crate) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|first| first.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::mistake;
    use crate::lan::Asker;
    use store::PlayerId;

    #[test]
    fn words_of_a_mistake_are_never_markup() {
        let page = mistake(Asker::TEACHER, "<script>alert(1)</script> — look \"here\"").into_string();
        assert!(!page.contains("<script>alert"));
        assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
        assert!(page.contains("Look &quot;here&quot;."));
        assert!(page.contains("href=\"/studio\"") && page.contains("href=\"/\""));
    }

    #[test]
    fn a_mistake_at_a_players_device_shows_no_way_to_the_teachers_screens() {
        let page = mistake(Asker::at_device_of(Some(PlayerId(2))), "no — go").into_string();
        assert!(page.contains("href=\"/today\"") && page.contains("Go."));
        assert!(!page.contains("href=\"/studio\"") && !page.contains("href=\"/\""));
    }
}
