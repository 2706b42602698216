//! Starts the built binary over a store of its own, on a free port, and ends it.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{OnceLock, mpsc};
use std::time::Duration;

use anyhow::{Context, Result, bail};
use tempfile::TempDir;

use crate::root;

/// A running program. Dropping it kills it, as hard as `kill -9`.
#[derive(Debug)]
pub struct App {
    child: Child,
    /// Its address, such as `http://127.0.0.1:40123`.
    pub url: String,
}

/// Runs the program to its end and hands back what it printed.
///
/// # Errors
/// It ends with anything but 0; its complaint.
pub fn ask(args: &[&str]) -> Result<String> {
    let output = program()?.args(args).output()?;
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        bail!("`spoolwright {}`: {said}", args.join(" "));
    }
    Ok(String::from_utf8(output.stdout)?)
}

/// A folder for a store that goes when the test ends.
///
/// # Errors
/// The folder cannot be made.
pub fn folder() -> Result<TempDir> {
    Ok(tempfile::tempdir()?)
}

impl App {
    /// Serves the store file, making it if it is not there.
    ///
    /// # Errors
    /// No binary, or it ends or stays silent instead of printing its address.
    pub fn over(store: &Path) -> Result<Self> {
        let store = store.to_str().context("the path is not UTF-8")?;
        Self::start(&["--store", store, "serve", "--port", "0"])
    }

    /// Serves the store file at the same address as a program before it.
    ///
    /// # Errors
    /// As for [`App::over`].
    pub fn again(store: &Path, url: &str) -> Result<Self> {
        let store = store.to_str().context("the path is not UTF-8")?;
        let port = url.rsplit(':').next().context("no port")?;
        Self::start(&["--store", store, "serve", "--port", port])
    }

    /// Serves the demo scenario from a store that the program throws away.
    ///
    /// # Errors
    /// As for [`App::over`].
    pub fn demo() -> Result<Self> {
        Self::start(&["demo", "--port", "0"])
    }

    fn start(args: &[&str]) -> Result<Self> {
        let mut child = program()?
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()?;
        let (said, heard) = mpsc::channel();
        listen(child.stdout.take().context("no stdout")?, said.clone());
        listen(child.stderr.take().context("no stderr")?, said);
        let mut before = String::new();
        loop {
            match heard.recv_timeout(Duration::from_secs(30)) {
                Ok(line) => match address(&line) {
                    Some(url) => return Ok(Self { child, url }),
                    None => before.push_str(&format!("{line}\n")),
                },
                Err(_) => {
                    child.kill().ok();
                    child.wait()?;
                    bail!("the program printed no address; it said:\n{before}");
                }
            }
        }
    }

    /// Kills it at once, without a chance to tidy up, and waits until it is gone.
    ///
    /// # Errors
    /// It was gone already.
    pub fn kill(mut self) -> Result<()> {
        self.child.kill()?;
        self.child.wait()?;
        Ok(())
    }

    /// Its process number.
    pub fn id(&self) -> u32 {
        self.child.id()
    }
}

impl Drop for App {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

/// Passes lines on and keeps reading, so that the program never waits for a full pipe.
fn listen(pipe: impl std::io::Read + Send + 'static, said: mpsc::Sender<String>) {
    std::thread::spawn(move || {
        for line in BufReader::new(pipe).lines().map_while(Result::ok) {
            said.send(line).ok();
        }
    });
}

/// The address in a line, without the slash at its end.
fn address(line: &str) -> Option<String> {
    let start = line.find("http://127.0.0.1:")?;
    let rest = &line[start..];
    let host = rest.strip_prefix("http://127.0.0.1:")?;
    let digits = host.chars().take_while(char::is_ascii_digit).count();
    (digits > 0).then(|| rest[.."http://127.0.0.1:".len() + digits].to_owned())
}

/// The program, without what the tester's own environment would tell it.
fn program() -> Result<Command> {
    let mut program = Command::new(binary()?);
    program.env_remove("RUST_BACKTRACE");
    program.env_remove("SPOOLWRIGHT_STORE");
    program.stdin(Stdio::null());
    Ok(program)
}

/// The program's binary: the one named by `SPOOLWRIGHT_BIN`, else the one cargo builds now.
///
/// # Errors
/// Cargo cannot build it.
pub fn binary() -> Result<PathBuf> {
    static BUILT: OnceLock<Result<PathBuf, String>> = OnceLock::new();
    let built = BUILT.get_or_init(|| build().map_err(|error| format!("{error:#}")));
    built.clone().map_err(anyhow::Error::msg)
}

fn build() -> Result<PathBuf> {
    if let Some(named) = std::env::var_os("SPOOLWRIGHT_BIN") {
        return Ok(PathBuf::from(named));
    }
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let flags = [
        "build",
        "--package",
        "spoolwright",
        "--message-format",
        "json",
    ];
    let output = Command::new(cargo)
        .args(flags)
        .current_dir(root())
        .stderr(Stdio::inherit())
        .output()?;
    if !output.status.success() {
        bail!("cargo could not build the program");
    }
    let lines = String::from_utf8(output.stdout)?;
    let messages = lines.lines().map(serde_json::from_str::<serde_json::Value>);
    messages
        .filter_map(Result::ok)
        .find_map(|message| message["executable"].as_str().map(PathBuf::from))
        .context("cargo named no binary")
}

#[cfg(test)]
mod tests {
    use super::address;

    #[test]
    fn the_address_is_found_in_a_sentence() {
        let line = "Spoolwright is at http://127.0.0.1:4123/ until you press Ctrl-C.";
        assert_eq!(address(line).as_deref(), Some("http://127.0.0.1:4123"));
        assert_eq!(address("Opening the store."), None);
    }
}
