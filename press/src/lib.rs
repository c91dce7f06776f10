//! How is what Foreread asks for engraved, typeset and printed, and what stands on a printed page?
//!
//! One request comes as one [`job::Letter`], one answer goes back; nothing is kept between requests but what makes the next
//! one quicker. Nothing here reads a file of the user or a network: music, words, pictures and fonts come as bytes. The
//! engraver is C++ and may end the whole program on music it can't bear; whoever asks runs it as a child and starts another.

mod chest;
mod engrave;
mod ink;
mod paper;
mod picture;
mod press;
mod quiet;
mod see;
mod svg;
mod typeset;

pub use chest::leave;
pub use press::{Press, serve};
pub use quiet::{complain, take_the_pipe};

/// Why something was refused: whose fault it is, and a sentence.
fn refusal(kind: job::RefusalKind, what: impl Into<String>) -> job::Refusal {
    job::Refusal {
        kind,
        what: what.into(),
    }
}
