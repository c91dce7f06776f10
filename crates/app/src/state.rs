//! What does a running app hold? The pieces, what was made of them, who works, and the secret of its pages.

use crate::error::AppError;
use crate::folder::Openings;
use crate::lan::{self, Door, Lan, Offers};
use crate::look;
use crate::part::Sounds;
use crate::prepared::Kept;
use crate::serve::AppAsked;
use crate::takes;
use crate::today::{Plans, Sittings};
use crate::workshop::{Urgency, Workshop};
use chrono::NaiveDate;
use desk::Printer;
use std::path::PathBuf;
use std::sync::Arc;
use store::Store;

/// The app while it runs.
pub(crate) struct App {
    /// Our port, by which requests to this machine's name are known to be for us.
    pub port: u16,
    /// The day that it was told is today.
    told: Option<NaiveDate>,
    /// The door to other devices, if it is open.
    pub lan: Option<Lan>,
    /// The code by which a device is let in.
    pub offers: Offers,
    /// What a page must show before anything is changed.
    pub secret: String,
    /// What is kept.
    pub store: Store,
    /// How pieces begin, by their files.
    pub openings: Openings,
    /// Parts that were engraved already.
    pub kept: Kept,
    /// Clean parts to look at.
    pub looks: look::Copies,
    /// Sounds that were made.
    pub sounds: Sounds,
    /// Takes that were heard.
    pub takes: takes::Held,
    /// Held while printed pages are read: one file at a time.
    pub reading: tokio::sync::Mutex<()>,
    /// Plans that were made.
    pub plans: Plans,
    /// Who writes down what is done of a sitting.
    pub sittings: Sittings,
    /// Where engravings are kept; whatever is missing there is engraved again.
    pub engraved: PathBuf,
    /// Who engraves.
    pub workshop: Workshop,
}

impl App {
    /// Opens what is kept and sets the press to work.
    ///
    /// # Errors
    /// If the machine refuses.
    pub fn open(asked: &AppAsked, port: u16) -> Result<(Self, Option<Door>), AppError> {
        let home = match &asked.home {
            Some(home) => home.clone(),
            None => store::default_home()?,
        };
        let store = Store::open_on(&home, asked.today.unwrap_or_else(desk::today))?;
        // Whoever starts a second one is told where this one is.
        store.say_address(&format!("http://127.0.0.1:{port}/"))?;
        let (door, lan) = match asked.lan {
            true => lan::door(asked.lan_port, store.home()).map(|(door, lan)| (Some(door), Some(lan)))?,
            false => (None, None),
        };
        let engraved = store.home().join("engraved");
        let app = Self {
            port,
            told: asked.today,
            lan,
            offers: Offers::default(),
            secret: secret()?,
            store,
            openings: Openings::default(),
            kept: Kept::default(),
            looks: look::Copies::default(),
            sounds: Sounds::default(),
            takes: takes::Held::default(),
            reading: tokio::sync::Mutex::default(),
            plans: Plans::default(),
            sittings: Sittings::default(),
            workshop: Workshop::start(engraved.clone())?,
            engraved,
        };
        Ok((app, door))
    }

    /// Today, by the clock of this machine, or as it was told when it was started.
    pub fn today(&self) -> NaiveDate {
        self.told.unwrap_or_else(desk::today)
    }

    /// Work on the press, without holding up whoever else asks.
    ///
    /// # Errors
    /// What the work says, or if the app is being closed.
    pub async fn on_press<T: Send + 'static>(
        self: &Arc<Self>,
        urgency: Urgency,
        work: impl FnOnce(&Self, &mut Printer) -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        let app = Arc::clone(self);
        let (done, when_done) = tokio::sync::oneshot::channel();
        self.workshop.give(
            urgency,
            Box::new(move |printer| {
                let made = printer.and_then(|printer| work(&app, printer));
                // Who asked may have gone away meanwhile.
                let _ = done.send(made);
            }),
        );
        when_done.await.unwrap_or(Err(AppError::Closing))
    }

    /// Work that takes a while but needs no press.
    ///
    /// # Errors
    /// What the work says, or if the app is being closed.
    pub async fn aside<T: Send + 'static>(
        self: &Arc<Self>,
        work: impl FnOnce(&Self) -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        let app = Arc::clone(self);
        tokio::task::spawn_blocking(move || work(&app))
            .await
            .unwrap_or(Err(AppError::Closing))
    }

    /// Nothing more is begun.
    pub fn close(&self) {
        self.workshop.close();
        // The home is free again in any case; a stale address harms nobody.
        let _ = self.store.say_address("");
    }
}

/// 128 random bits as text.
fn secret() -> Result<String, AppError> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| AppError::Random(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
