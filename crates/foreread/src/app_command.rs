//! `foreread` alone: the app in the browser.

use app::AppAsked;
use clap::Args;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, Args)]
pub(crate) struct AppArgs {
    /// Where everything is kept, instead of the usual place of this machine
    #[arg(long, value_name = "DIR")]
    home: Option<PathBuf>,
    /// The port of the app's address, instead of the usual one
    #[arg(long, value_name = "N")]
    port: Option<u16>,
    /// Let other devices of the house look in, each by a code of its own, over TLS
    #[arg(long)]
    lan: bool,
    /// The port for other devices, instead of the usual one
    #[arg(long, value_name = "N", requires = "lan")]
    lan_port: Option<u16>,
    /// Leave the browser closed; the address is printed
    #[arg(long)]
    no_open: bool,
}

/// The variable that says which day to take for today: for tests in a browser, which must hold on any day.
const TODAY: &str = "FOREREAD_TODAY";

/// Starts the app, says where it is, and answers until it is told to stop.
pub(crate) fn run(args: &AppArgs) -> ExitCode {
    // No option, since nobody but a test wants it, and shells complete even hidden ones.
    let told = std::env::var(TODAY).ok();
    let today = match told.map(|day| desk::day(TODAY, &day)).transpose() {
        Ok(today) => today,
        Err(error) => {
            crate::output::say(&format!("foreread: {error}"));
            return ExitCode::from(2);
        }
    };
    let asked = AppAsked {
        home: args.home.clone(),
        port: args.port,
        lan: args.lan,
        lan_port: args.lan_port,
        no_open: args.no_open,
        today,
    };
    let served = app::bind(&asked).and_then(|bound| {
        let mut out = std::io::stdout().lock();
        // A closed terminal is no reason not to go on.
        let _ = writeln!(out, "{}", bound.address());
        if let Some((addresses, fingerprint)) = bound.for_devices() {
            let _ = writeln!(out, "for other devices: {}", addresses.join(" "));
            let _ = writeln!(out, "their certificate's fingerprint (SHA-256): {fingerprint}");
        }
        let _ = out.flush();
        drop(out);
        bound.serve()
    });
    match served {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            crate::output::say(&format!("foreread: {error}"));
            ExitCode::from(4)
        }
    }
}
