//! The command line's reference as Markdown, from the program's own help: it cannot drift.

use std::fmt::Write;

use clap::{Arg, Command};

const BEGINNING: &str = "# The command line

Made from the program's own help by `cargo xtask docs`; do not edit.

Every verb takes `--store PATH`, the store file instead of the one in your data folder; `--json`, to
answer and complain in JSON; and `--request ID`: a change said again with the same id changes nothing.
Exit codes: 0 done, 2 bad input, 1 anything else. Lengths may be typed in metres or feet, such as
`30.5 m` or `100ft`.
";

/// Every verb with its options.
pub(super) fn markdown(mut root: Command) -> String {
    root.build();
    let mut text = BEGINNING.to_owned();
    describe(&root, &mut text);
    text
}

fn describe(command: &Command, text: &mut String) {
    let verbs = || command.get_subcommands().filter(|c| !c.is_hide_set());
    let mut usage = command.clone().render_usage().to_string();
    usage = usage
        .trim_start_matches("Usage: ")
        .replace(" [OPTIONS]", "");
    let about = command
        .get_about()
        .map(ToString::to_string)
        .unwrap_or_default();
    let about = about.trim_end_matches('.');
    // Writing to a string cannot fail.
    let name = command.get_bin_name().unwrap_or_else(|| command.get_name());
    let _ = write!(
        text,
        "\n## `{name}`\n\n{about}.\n\n```text\n{}\n```\n",
        usage.trim()
    );
    let own =
        |arg: &&Arg| !arg.is_global_set() && !["help", "version"].contains(&arg.get_id().as_str());
    let args: Vec<&Arg> = command.get_arguments().filter(own).collect();
    if !args.is_empty() {
        text.push('\n');
    }
    for arg in args {
        let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
        let _ = writeln!(text, "- `{}`: {help}", typed(arg));
    }
    verbs().for_each(|verb| describe(verb, text));
}

/// An argument as it is typed.
fn typed(arg: &Arg) -> String {
    let values = arg
        .get_value_names()
        .unwrap_or_default()
        .iter()
        .map(|v| v.as_str());
    let values = values.collect::<Vec<_>>().join(" ");
    match arg.get_long() {
        Some(long) if arg.get_action().takes_values() => format!("--{long} {values}"),
        Some(long) => format!("--{long}"),
        None => values,
    }
}
