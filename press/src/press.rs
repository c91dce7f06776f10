//! Who does what is asked? Reads letters, hands each to its workshop, writes the answers.

use crate::engrave::Engraver;
use crate::refusal;
use crate::svg::Drawing;
use crate::{ink, paper, picture, see, typeset};
use job::{Answer, Letter, LetterError, Refusal, RefusalKind, Request};
use std::io::{self, Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// The press: what is kept between requests to make the next one quicker.
#[derive(Default)]
pub struct Press {
    engraver: Option<Engraver>,
    typesetter: Option<typeset::Typesetter>,
    drawing: Drawing,
    eye: see::Eye,
}

/// Answers letters until the input ends.
///
/// # Errors
/// If the pipe breaks, or what comes is no letter: after that no letter can be told from the next.
pub fn serve(from: &mut impl Read, to: &mut impl Write) -> io::Result<()> {
    let mut press = Press::default();
    loop {
        let asked = match Letter::read(from) {
            Ok(asked) => asked,
            Err(LetterError::Closed) => return Ok(()),
            Err(LetterError::Pipe(error)) => return Err(error),
            Err(garbled @ LetterError::Garbled(_)) => {
                let answer = refusal(RefusalKind::Request, garbled.to_string());
                write(&Letter::bare(Answer::Refused(answer)), to)?;
                return Err(io::Error::new(io::ErrorKind::InvalidData, garbled));
            }
        };
        write(&press.answer(asked), to)?;
    }
}

fn write(answer: &Letter<Answer>, to: &mut impl Write) -> io::Result<()> {
    let mut bytes = io::BufWriter::with_capacity(64 << 10, to);
    match answer.write(&mut bytes) {
        Ok(()) => Ok(()),
        Err(LetterError::Pipe(error)) => Err(error),
        Err(other) => Err(io::Error::other(other)),
    }
}

impl Press {
    /// Does what is asked; what can't be done is refused in words.
    pub fn answer(&mut self, asked: Letter<Request>) -> Letter<Answer> {
        let done = catch_unwind(AssertUnwindSafe(|| self.work(asked)));
        match done {
            Ok(Ok(answer)) => answer,
            Ok(Err(refused)) => Letter::bare(Answer::Refused(refused)),
            Err(_) => {
                // Whatever was in the middle of something is made anew.
                *self = Press::default();
                let what = "something in the press went wrong that never should; the press goes on with the next request";
                Letter::bare(Answer::Refused(refusal(RefusalKind::Machine, what)))
            }
        }
    }

    fn work(&mut self, asked: Letter<Request>) -> Result<Letter<Answer>, Refusal> {
        let blobs = asked.blobs;
        match asked.head {
            Request::Hello => Ok(Letter::bare(Answer::Hello {
                version: job::VERSION,
                about: ABOUT.to_owned(),
            })),
            Request::Engrave(ask) => {
                let engraver = match self.engraver.take() {
                    Some(engraver) => engraver,
                    None => Engraver::open()?,
                };
                let engraver = self.engraver.insert(engraver);
                let (engraved, blobs) = engraver.engrave(&text(&blobs, 0)?, &ask, &self.drawing)?;
                Ok(Letter {
                    head: Answer::Engraved(engraved),
                    blobs,
                })
            }
            Request::Pdf(ask) => {
                let pages = (0..blobs.len())
                    .map(|index| text(&blobs, index))
                    .collect::<Result<Vec<_>, _>>()?;
                let pdf = paper::pdf(&pages, &ask, &self.drawing)?;
                let pages = u32::try_from(pages.len()).unwrap_or(u32::MAX);
                Ok(Letter {
                    head: Answer::Pdf { pages },
                    blobs: vec![pdf],
                })
            }
            Request::Picture(ask) => {
                let (png, width, height) = picture::png(&text(&blobs, 0)?, &ask, &self.drawing)?;
                Ok(Letter {
                    head: Answer::Picture { width, height },
                    blobs: vec![png],
                })
            }
            Request::Ink(ask) => {
                let ink = ink::of_svg(&text(&blobs, 0)?, &ask, &self.drawing)?;
                Ok(Letter::bare(Answer::Ink(ink)))
            }
            Request::Typeset(ask) => {
                let typesetter = self.typesetter.get_or_insert_with(typeset::Typesetter::new);
                let (head, pdf) = typesetter.typeset(blobs, &ask)?;
                Ok(Letter {
                    head: Answer::Typeset(head),
                    blobs: vec![pdf],
                })
            }
            Request::See(ask) => self.eye.see(blob(&blobs, 0)?, &ask),
        }
    }
}

/// What the press says of itself.
const ABOUT: &str = concat!(
    "foreread-press ",
    env!("CARGO_PKG_VERSION"),
    ": engraved by Verovio 6.2 (LGPL 3), typeset by Typst 0.15 (Apache 2.0), written and drawn by krilla 0.8 and resvg 0.47 ",
    "(MIT or Apache 2.0); pages read with hayro 0.7, image 0.25 and tract 0.23 (MIT or Apache 2.0); fonts Bravura, Libertinus Serif and Architects Daughter (SIL Open Font License 1.1)"
);

fn blob(blobs: &[Vec<u8>], index: usize) -> Result<&[u8], Refusal> {
    let missing = || {
        refusal(
            RefusalKind::Request,
            format!("blob {index} of the request is missing"),
        )
    };
    blobs.get(index).map(Vec::as_slice).ok_or_else(missing)
}

fn text(blobs: &[Vec<u8>], index: usize) -> Result<String, Refusal> {
    let blob = blob(blobs, index)?;
    match std::str::from_utf8(blob) {
        Ok(text) => Ok(text.to_owned()),
        Err(error) => Err(refusal(
            RefusalKind::Request,
            format!("blob {index} of the request is no UTF-8 text: {error}"),
        )),
    }
}
