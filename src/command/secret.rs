//! A password, typed where nobody reads along.

use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader, IsTerminal, Write};
use std::thread;

use anyhow::{Context, Result, anyhow, ensure};
use rustix::termios::{LocalModes, OptionalActions, Termios, tcgetattr, tcsetattr};
use tokio::sync::oneshot;

/// Asks twice on the terminal, without showing what is typed; where the input is not a terminal, takes its first line.
pub async fn ask(prompt: &str) -> Result<String> {
    if !io::stdin().is_terminal() {
        return in_thread(|| first_line(io::stdin().lock())).await;
    }
    let once = ask_terminal(format!("{prompt}: ")).await?;
    let again = ask_terminal(format!("{prompt}, once more: ")).await?;
    ensure!(once == again, "The two were not the same. Nothing was changed.");
    Ok(once)
}

async fn ask_terminal(prompt: String) -> Result<String> {
    let terminal =
        OpenOptions::new().read(true).write(true).open("/dev/tty").context("There is no terminal")?;
    // Held here and not in the thread: at Ctrl-C this is dropped, and the terminal shows what is typed again.
    let _silent = Silent::begin(&terminal)?;
    in_thread(move || {
        let mut terminal = terminal;
        terminal.write_all(prompt.as_bytes())?;
        let line = first_line(BufReader::new(&terminal))?;
        terminal.write_all(b"\n")?;
        Ok(line)
    })
    .await
}

/// A thread of its own: one of the runtime's would be waited for at the end, and a read cannot be called off.
async fn in_thread(read: impl FnOnce() -> Result<String> + Send + 'static) -> Result<String> {
    let (tell, told) = oneshot::channel();
    thread::spawn(move || {
        // Nobody listens any more after Ctrl-C.
        let _ = tell.send(read());
    });
    told.await.map_err(|_| anyhow!("Nothing could be read"))?
}

fn first_line(mut input: impl BufRead) -> Result<String> {
    let mut line = String::new();
    input.read_line(&mut line).context("Nothing could be read")?;
    let line = line.trim_end_matches(['\r', '\n']);
    ensure!(!line.is_empty(), "Nothing was typed. Nothing was changed.");
    Ok(line.to_owned())
}

/// A terminal that does not show what is typed, until this is dropped.
struct Silent {
    terminal: File,
    before: Termios,
}

impl Silent {
    fn begin(terminal: &File) -> Result<Self> {
        let terminal = terminal.try_clone().context("There is no terminal")?;
        let before = tcgetattr(&terminal).context("The terminal could not be asked")?;
        let mut silent = before.clone();
        silent.local_modes.remove(LocalModes::ECHO);
        tcsetattr(&terminal, OptionalActions::Flush, &silent)
            .context("The terminal could not be silenced")?;
        Ok(Self { terminal, before })
    }
}

impl Drop for Silent {
    fn drop(&mut self) {
        let _ = tcsetattr(&self.terminal, OptionalActions::Flush, &self.before);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_password_from_the_input_is_its_first_line_as_it_stands() {
        assert_eq!(first_line(b" two words \r\nnext".as_slice()).unwrap(), " two words ");
        assert_eq!(first_line(b"no end".as_slice()).unwrap(), "no end");
        for nothing in ["", "\n"] {
            let said = first_line(nothing.as_bytes()).unwrap_err().to_string();
            assert_eq!(said, "Nothing was typed. Nothing was changed.");
        }
    }
}
