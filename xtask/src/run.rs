//! Running other programs: in the repository's root, loudly, and failing when they fail.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};

/// The repository's root.
pub(crate) fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().expect("xtask lies in the root").to_path_buf()
}

/// Where cargo puts what it builds.
pub(crate) fn target() -> PathBuf {
    match std::env::var_os("CARGO_TARGET_DIR") {
        Some(dir) => root().join(dir),
        None => root().join("target"),
    }
}

/// A command in the repository's root, without backtraces: tests of error text want none.
pub(crate) fn command(program: impl AsRef<Path>, args: &[&str]) -> Command {
    let mut command = Command::new(program.as_ref());
    command.args(args).current_dir(root());
    command.env_remove("RUST_BACKTRACE");
    command
}

/// Cargo, the same one that runs us.
pub(crate) fn cargo(args: &[&str]) -> Command {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let mut command = command(cargo, args);
    // Set by the outer cargo for xtask alone; the inner one must not take them for its own.
    command.env_remove("CARGO_MANIFEST_DIR");
    command
}

fn shown(command: &Command) -> String {
    let name = Path::new(command.get_program()).file_name();
    let mut text = name.unwrap_or_default().to_string_lossy().into_owned();
    for arg in command.get_args() {
        text.push(' ');
        text.push_str(&arg.to_string_lossy());
    }
    text
}

/// Runs to the end; an error when it exits with anything but 0.
pub(crate) fn run(command: &mut Command) -> Result<()> {
    let text = shown(command);
    eprintln!("── {text}");
    let status = command
        .status()
        .with_context(|| format!("could not start `{text}`"))?;
    if !status.success() {
        bail!("`{text}` ended with {status}");
    }
    Ok(())
}

/// Runs to the end and hands back what it printed on stdout.
pub(crate) fn output(command: &mut Command) -> Result<String> {
    let text = shown(command);
    eprintln!("── {text}");
    let output = command
        .stderr(Stdio::inherit())
        .output()
        .with_context(|| format!("could not start `{text}`"))?;
    if !output.status.success() {
        bail!("`{text}` ended with {}", output.status);
    }
    String::from_utf8(output.stdout).with_context(|| format!("`{text}` printed no UTF-8"))
}

/// Runs a cargo test command, passing its output on, and adds up its closing lines.
pub(crate) fn counted(command: &mut Command) -> Result<()> {
    let text = shown(command);
    eprintln!("── {text}");
    let mut child = command
        .stdout(Stdio::piped())
        .spawn()
        .with_context(|| format!("could not start `{text}`"))?;
    let mut out = std::io::stdout().lock();
    let (mut passed, mut failed, mut skipped) = (0, 0, 0);
    for line in BufReader::new(child.stdout.take().expect("stdout is piped")).split(b'\n') {
        let mut line = line?;
        if let Some((p, f, s)) = closing_line(&String::from_utf8_lossy(&line)) {
            passed += p;
            failed += f;
            skipped += s;
        }
        line.push(b'\n');
        out.write_all(&line)?;
        out.flush()?;
    }
    let status = child.wait()?;
    writeln!(out, "{passed} passed, {failed} failed, {skipped} skipped")?;
    if !status.success() {
        bail!("`{text}` ended with {status}");
    }
    if passed == 0 {
        bail!("`{text}` ran no test");
    }
    Ok(())
}

/// Passed, failed and ignored from a line such as `test result: ok. 3 passed; 0 failed; …`.
fn closing_line(line: &str) -> Option<(u64, u64, u64)> {
    let counts = line.strip_prefix("test result:")?;
    let number = |word: &str| -> Option<u64> {
        let before = counts.split(word).next()?.trim_end();
        before.rsplit(' ').next()?.parse().ok()
    };
    Some((number(" passed")?, number(" failed")?, number(" ignored")?))
}

#[cfg(test)]
mod tests {
    use super::closing_line;

    #[test]
    fn closing_lines_are_counted_and_others_are_not() {
        let line = "test result: FAILED. 12 passed; 3 failed; 1 ignored; 0 measured; 0 filtered out; finished in 0.00s";
        assert_eq!(closing_line(line), Some((12, 3, 1)));
        assert_eq!(closing_line("test tidy ... ok"), None);
        assert_eq!(closing_line("test result: ok."), None);
    }
}
