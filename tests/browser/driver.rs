//! A small client of the W3C WebDriver protocol over a plain socket to the local machine. Owns
//! starting and ending the browser; refuses to know what is looked at.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

pub struct Browser {
    driver: Child,
    port: u16,
    session: String,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// Starts chromedriver and a headless Chromium whose downloads go to `downloads`; `None` where
    /// either is not installed.
    pub fn start(downloads: &Path) -> Option<Self> {
        let found = |name: &str| {
            Command::new(name)
                .arg("--version")
                .output()
                .is_ok_and(|o| o.status.success())
        };
        let chromium = ["chromium", "chromium-browser"]
            .into_iter()
            .find(|n| found(n))?;
        if !found("chromedriver") {
            return None;
        }
        let port = TcpListener::bind("127.0.0.1:0")
            .ok()?
            .local_addr()
            .ok()?
            .port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .ok()?;
        let profile = tempfile::tempdir().expect("a profile folder");
        let mut browser = Self {
            driver,
            port,
            session: String::new(),
            _profile: profile,
        };
        let patience = Instant::now();
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(
                patience.elapsed() < Duration::from_secs(20),
                "chromedriver does not listen"
            );
            sleep(Duration::from_millis(50));
        }
        let args = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--force-device-scale-factor=1",
            "--hide-scrollbars",
        ];
        let mut args: Vec<String> = args.map(str::to_owned).to_vec();
        args.push(format!(
            "--user-data-dir={}",
            browser._profile.path().display()
        ));
        let binary =
            String::from_utf8(Command::new("which").arg(chromium).output().ok()?.stdout).ok()?;
        let wanted = json!({"capabilities": {"alwaysMatch": {
            "goog:chromeOptions": {
                "binary": binary.trim(),
                "args": args,
                "prefs": {"download.default_directory": downloads, "download.prompt_for_download": false},
            },
            "goog:loggingPrefs": {"browser": "ALL"},
        }}});
        let answer = browser.ask("POST", "/session", &wanted);
        browser.session = answer["sessionId"].as_str().expect("a session").to_owned();
        Some(browser)
    }

    fn ask(&self, method: &str, path: &str, body: &Value) -> Value {
        let body = if method == "POST" {
            body.to_string()
        } else {
            String::new()
        };
        let mut stream =
            TcpStream::connect(("127.0.0.1", self.port)).expect("chromedriver listens");
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            self.port,
            body.len()
        )
        .expect("a request");
        let mut answer = Vec::new();
        let mut part = [0; 65536];
        // The driver may keep the connection open, so the length decides.
        let (head, length) = loop {
            let n = stream.read(&mut part).expect("an answer");
            answer.extend_from_slice(&part[..n]);
            if let Some(end) = answer.windows(4).position(|w| w == b"\r\n\r\n") {
                let head = String::from_utf8_lossy(&answer[..end]).to_lowercase();
                let length = head
                    .lines()
                    .find_map(|l| l.strip_prefix("content-length:"))
                    .expect("a length");
                break (end + 4, length.trim().parse::<usize>().expect("a number"));
            }
            assert!(n > 0, "the driver hung up");
        };
        while answer.len() < head + length {
            let n = stream.read(&mut part).expect("the rest");
            assert!(n > 0, "the driver hung up");
            answer.extend_from_slice(&part[..n]);
        }
        let value: Value = serde_json::from_slice(&answer[head..]).expect("JSON");
        let value = value["value"].clone();
        assert!(value.get("error").is_none(), "{method} {path}: {value}");
        value
    }

    fn post(&self, what: &str, body: &Value) -> Value {
        self.ask("POST", &format!("/session/{}/{what}", self.session), body)
    }

    pub fn open(&self, page: &Path) {
        self.post("url", &json!({"url": format!("file://{}", page.display())}));
    }

    /// Runs a function body in the page and returns what it returns.
    pub fn run(&self, script: &str, args: &[Value]) -> Value {
        self.post("execute/sync", &json!({"script": script, "args": args}))
    }

    /// One command of the browser's own protocol.
    pub fn cdp(&self, command: &str, params: Value) -> Value {
        self.post(
            "goog/cdp/execute",
            &json!({"cmd": command, "params": params}),
        )
    }

    /// A window of so many CSS px, in the light or the dark scheme.
    pub fn dress(&self, width: u32, height: u32, scheme: &str) {
        self.cdp(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false}),
        );
        self.cdp(
            "Emulation.setEmulatedMedia",
            json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]}),
        );
    }

    /// Presses, moves in steps and lets go; `touch` for a finger instead of the mouse.
    pub fn drag(&self, from: (f64, f64), to: (f64, f64), touch: bool) {
        let at = |(x, y): (f64, f64), ms: u32| json!({"type": "pointerMove", "duration": ms, "x": x.round(), "y": y.round(), "origin": "viewport"});
        let half = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
        let kind = if touch { "touch" } else { "mouse" };
        self.post(
            "actions",
            &json!({"actions": [{"type": "pointer", "id": kind, "parameters": {"pointerType": kind}, "actions": [
                at(from, 0), {"type": "pointerDown", "button": 0}, at(half, 60), at(to, 60), {"type": "pointerUp", "button": 0}
            ]}]}),
        );
    }

    /// Types keys one after another into what has the focus; special keys by their WebDriver code.
    pub fn keys(&self, keys: &[&str]) {
        let actions: Vec<Value> = keys
            .iter()
            .flat_map(|k| {
                [
                    json!({"type": "keyDown", "value": k}),
                    json!({"type": "keyUp", "value": k}),
                ]
            })
            .collect();
        self.post(
            "actions",
            &json!({"actions": [{"type": "key", "id": "keys", "actions": actions}]}),
        );
    }

    /// Types a key `n` times with Shift held.
    pub fn shifted(&self, key: &str, n: usize) {
        let shift = "\u{e008}";
        let mut actions = vec![json!({"type": "keyDown", "value": shift})];
        for _ in 0..n {
            actions.push(json!({"type": "keyDown", "value": key}));
            actions.push(json!({"type": "keyUp", "value": key}));
        }
        actions.push(json!({"type": "keyUp", "value": shift}));
        self.post(
            "actions",
            &json!({"actions": [{"type": "key", "id": "keys", "actions": actions}]}),
        );
    }

    /// The whole page as PNG.
    pub fn picture(&self) -> Vec<u8> {
        use base64::Engine as _;
        let shot = self.cdp(
            "Page.captureScreenshot",
            json!({"captureBeyondViewport": true}),
        );
        let text = shot["data"].as_str().expect("a picture");
        base64::engine::general_purpose::STANDARD
            .decode(text)
            .expect("base64")
    }

    /// What the browser complained about since the last question, refused loads among it.
    pub fn complaints(&self) -> Vec<String> {
        let log = self.post("se/log", &json!({"type": "browser"}));
        log.as_array()
            .into_iter()
            .flatten()
            .map(|l| l["message"].to_string())
            .collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() && !std::thread::panicking() {
            self.ask(
                "DELETE",
                &format!("/session/{}", self.session),
                &Value::Null,
            );
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
