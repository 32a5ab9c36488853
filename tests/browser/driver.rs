//! The browser's driver as a process, and a browser of it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::json;
use thirtyfour::{ChromiumLikeCapabilities, DesiredCapabilities, WebDriver};

/// A tablet that is held upright, in px.
pub const TABLET: (u32, u32) = (820, 1180);

/// A running driver. It asks to be shut down when it is dropped: killed, it would leave its browser behind.
pub struct Driver {
    process: Child,
    port: u16,
}

impl Driver {
    /// Starts one on a port that is free.
    pub fn start() -> Self {
        let mut process = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is not installed; run .ci/setup --tests");
        let mut lines = BufReader::new(process.stdout.take().unwrap()).lines();
        // "ChromeDriver was started successfully on port 41355."
        let port = lines
            .by_ref()
            .map_while(Result::ok)
            .find_map(|line| line.rsplit_once("successfully on port ")?.1.trim_end_matches('.').parse().ok())
            .expect("chromedriver does not say its port");
        // It is never made to wait for somebody who reads on.
        std::thread::spawn(move || lines.for_each(drop));
        Self { process, port }
    }

    /// A browser of the size of a tablet, with a fresh folder of its own.
    pub async fn browser(&self, scripts: bool) -> WebDriver {
        let mut wishes = DesiredCapabilities::chrome();
        let (width, height) = TABLET;
        for flag in [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--lang=en-GB",
            &format!("--window-size={width},{height}"),
        ] {
            wishes.add_arg(flag).unwrap();
        }
        if !scripts {
            // 2: blocked, on every site.
            let off = json!({ "profile.managed_default_content_settings.javascript": 2 });
            wishes.add_experimental_option("prefs", off).unwrap();
        }
        let driver = WebDriver::new(format!("http://127.0.0.1:{}", self.port), wishes).await.unwrap();
        driver.set_window_rect(0, 0, width, height).await.unwrap();
        driver.set_page_load_timeout(Duration::from_mins(1)).await.unwrap();
        driver
    }

    fn ask_to_stop(&self) -> std::io::Result<()> {
        let mut connection = TcpStream::connect(("127.0.0.1", self.port))?;
        connection.set_read_timeout(Some(Duration::from_secs(5)))?;
        let ask =
            format!("GET /shutdown HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n", self.port);
        connection.write_all(ask.as_bytes())?;
        connection.read_to_end(&mut Vec::new())?;
        Ok(())
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        if self.ask_to_stop().is_err() {
            let _ = self.process.kill();
        }
        let _ = self.process.wait();
    }
}
