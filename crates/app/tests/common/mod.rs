//! A running app, and how it is asked: real requests over real HTTP.

#![allow(
    dead_code,
    clippy::unwrap_used,
    reason = "each test program uses some of it, and one that can't go on has failed"
)]

use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;

/// A running app with the demo studio in a home of its own; it is left running until the test program ends.
pub struct Running {
    pub port: u16,
    pub secret: String,
}

/// What it answered; the head in small letters.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

/// Starts one; `name` is the test's own.
pub fn start(name: &str) -> Running {
    let home = std::env::temp_dir().join(format!("foreread-app-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&home);
    let bound = app::bind(&app::AppAsked {
        home: Some(PathBuf::from(&home)),
        port: Some(0),
        no_open: true,
        // Whatever is said of days holds on any day.
        today: "2026-11-26".parse().ok(),
        ..app::AppAsked::default()
    })
    .unwrap();
    let address = bound.address();
    let port: u16 = address
        .trim_end_matches('/')
        .rsplit(':')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    std::thread::spawn(move || bound.serve().unwrap());
    let mut running = Running {
        port,
        secret: String::new(),
    };
    let page = running.get("/").body;
    let secret = page.split("name=\"foreread-secret\" content=\"").nth(1).unwrap();
    running.secret = secret.split('"').next().unwrap().to_owned();
    assert_eq!(running.secret.len(), 32);
    running
}

impl Running {
    /// Bytes as they are.
    pub fn raw(&self, request: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        // What is refused may be refused before all of it is read.
        let _ = stream.write_all(request);
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        Answer {
            status: head
                .split(' ')
                .nth(1)
                .and_then(|status| status.parse().ok())
                .unwrap_or(0),
            head: head.to_lowercase(),
            body: body.to_owned(),
        }
    }

    /// A request by its first line, with what a browser always says.
    pub fn ask(&self, line: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        let mut request = format!(
            "{line} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n",
            body.len()
        );
        if !headers.iter().any(|(name, _)| name.eq_ignore_ascii_case("host")) {
            request.push_str(&format!("Host: 127.0.0.1:{}\r\n", self.port));
        }
        for (name, value) in headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        request.push_str("\r\n");
        self.raw(&[request.as_bytes(), body].concat())
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask(&format!("GET {path}"), &[], b"")
    }
}
