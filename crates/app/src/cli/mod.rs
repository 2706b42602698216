//! The command line: arguments in, text or JSON out, one file per noun.
//!
//! It asks and shows; it neither computes nor stores. Exit codes: 0 done, 2 bad input, 1 anything else.

use std::ffi::OsString;
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use spoolwright_core::{Error, Kind};

use crate::service::Service;

mod bath;
mod binder;
mod calc;
mod camera;
mod can;
mod card;
mod cassette;
mod cost;
mod desk;
mod device;
mod fail;
mod find;
mod journal;
mod loader;
mod note;
mod place;
mod plan;
mod print;
mod recipe;
mod roll;
mod scan;
mod serve;
mod settings;
mod shelf;
mod stock;
mod want;
mod wedge;
mod wedge_scan;

mod wet;
mod wind;

use desk::Desk;
use fail::Failure;

pub use serve::{Ready, Serving};

/// Where the help shows the options that every verb takes: behind the verb's own.
const SHOWN_LAST: usize = 900;

/// Winding your own 35 mm film: what is left in every can, what to wind, to which click.
#[derive(Parser)]
#[command(name = "spoolwright", version, disable_help_subcommand = true)]
struct Cli {
    /// The store file, instead of the one in your data folder.
    #[arg(
        long,
        global = true,
        display_order = SHOWN_LAST,
        value_name = "PATH",
        env = "SPOOLWRIGHT_STORE",
        hide_env_values = true
    )]
    store: Option<PathBuf>,
    /// Answer, and complain, in JSON.
    #[arg(long, global = true, display_order = SHOWN_LAST)]
    json: bool,
    /// An id for this change: said again with the same id, it changes nothing.
    #[arg(long, global = true, display_order = SHOWN_LAST, value_name = "ID")]
    request: Option<String>,
    #[command(flatten)]
    lan: serve::LanArgs,
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Subcommand)]
enum Verb {
    /// The page in your browser (this is what `spoolwright` alone does).
    Serve(serve::Args),
    /// The page over a throw-away store filled with an invented year of winding.
    Demo(serve::Demo),
    /// Everything at a glance: cans, wants, the queue, cassettes.
    Shelf,
    /// Kinds of film.
    #[command(subcommand)]
    Stock(stock::Verb),
    /// Bulk lengths, and what tells how much is left in them.
    #[command(subcommand)]
    Can(can::Verb),
    /// Bulk loaders.
    #[command(subcommand)]
    Loader(loader::Verb),
    /// Reloadable cassettes.
    #[command(subcommand)]
    Cassette(cassette::Verb),
    /// What film is needed for.
    #[command(subcommand)]
    Want(want::Verb),
    /// Which rolls to wind for the wants.
    Plan {
        #[command(subcommand)]
        verb: Option<plan::Verb>,
    },
    /// The queue at the loader: wind TICKET done.
    Wind(wind::Args),
    /// Wound rolls.
    #[command(subcommand)]
    Roll(roll::Verb),
    /// Cameras, and which roll is in which.
    #[command(subcommand)]
    Camera(camera::Verb),
    /// What was noted of each frame.
    #[command(subcommand)]
    Note(note::Verb),
    /// Find a frame again, and the page it lies on.
    Find(find::Args),
    /// Scans of a roll's frames, and the sidecars beside them.
    #[command(subcommand)]
    Scan(scan::Verb),
    /// The wedge bench: how fast a stock is and how long to develop it.
    #[command(subcommand)]
    Wedge(wedge::Verb),
    /// Stock cards: the EI and time to work by.
    #[command(subcommand)]
    Card(card::Verb),
    /// The wet bench: what waits to be developed, runs and their clocks.
    #[command(subcommand)]
    Wet(wet::Verb),
    /// Bottles of solution, and what they have left.
    #[command(subcommand)]
    Bath(bath::Verb),
    /// Binders: page formats, developed rolls cut and filed.
    #[command(subcommand)]
    Binder(binder::Verb),
    /// Recipes: the steps of a process.
    #[command(subcommand)]
    Recipe(recipe::Verb),
    /// Developing tanks.
    #[command(subcommand)]
    Tank(recipe::TankVerb),
    /// Kinds of reel.
    #[command(subcommand)]
    Reel(recipe::ReelVerb),
    /// Developing times of your own.
    #[command(subcommand)]
    Time(recipe::TimeVerb),
    /// Devices that were paired: a phone beside the bench.
    #[command(subcommand)]
    Device(device::Verb),
    /// Places that film is kept in: what lies where, warming up, what is about to go off.
    #[command(subcommand)]
    Place(place::Verb),
    /// What a usable frame came to, by can, stock and year, against ready-wound film.
    Cost(cost::Args),
    /// What was bought, film apart.
    #[command(subcommand)]
    Purchase(cost::Verb),
    /// Labels, tickets, DX patterns, lists, results, bath cards, run sheets: true size, as PDF.
    #[command(subcommand)]
    Print(print::Verb),
    /// What happened, newest first.
    History(journal::History),
    /// Undo the last change, or the entry named.
    Undo {
        /// The journal entry.
        entry: Option<i64>,
    },
    /// Units, currency, limits.
    Settings {
        #[command(subcommand)]
        verb: Option<settings::Verb>,
    },
    /// Copy the whole store to a new file.
    Backup {
        /// The file; it must not exist yet.
        file: PathBuf,
    },
    /// One sum without a store: JSON in, JSON out.
    Calc(calc::Args),
}

/// The command line as its help shows it: what an option is when left out stands in its words.
fn command() -> clap::Command {
    fn plain(command: clap::Command) -> clap::Command {
        let hidden = |arg: clap::Arg| {
            let hide = !arg.get_default_values().is_empty() && arg.get_action().takes_values();
            arg.hide_default_value(hide)
        };
        command.mut_args(hidden).mut_subcommands(plain)
    }
    plain(Cli::command())
}

fn parse(args: &[OsString]) -> Result<Cli, clap::Error> {
    Cli::from_arg_matches(&command().try_get_matches_from(args)?)
}

/// Runs the command line, with `page` to serve the page, and says with which code to end.
pub fn main(
    args: impl IntoIterator<Item = OsString>,
    page: fn(Serving<'_>) -> anyhow::Result<()>,
) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    let json = args.iter().any(|a| a == "--json");
    let result = match parse(&args) {
        Ok(cli) => run(cli, page),
        Err(e) if matches!(e.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {
            return if e.print().is_ok() {
                ExitCode::SUCCESS
            } else {
                ExitCode::FAILURE
            };
        }
        Err(e) => Err(misused(&e, &args)),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.report(json, &mut io::stderr().lock()),
    }
}

fn run(cli: Cli, page: serve::Page) -> Result<(), Failure> {
    let verb = match (cli.verb, cli.lan) {
        (None, lan) => Verb::Serve(serve::Args::of(lan)),
        (Some(_), lan) if lan.is_given() => {
            return Err(Error::new(
                Kind::Inconsistent,
                "--lan before a verb",
                "a verb behind it",
                "--lan alone, or behind serve or demo",
                "Put --lan behind `serve` or `demo`, or leave it out: other verbs serve nothing.",
            )
            .into());
        }
        (Some(verb), _) => verb,
    };
    match &verb {
        Verb::Calc(args) => return calc::run(args, cli.json, &mut io::stdout().lock()),
        Verb::Demo(args) => return serve::demo(args, cli.json, page),
        _ => {}
    }
    let store = match cli.store {
        Some(named) => {
            let folder = named.parent().filter(|p| !p.as_os_str().is_empty());
            if let Some(folder) = folder.filter(|p| !p.exists()) {
                return Err(Error::new(
                    Kind::Unknown,
                    "--store: the folder does not exist",
                    named.display(),
                    "a file in a folder that exists",
                    format!(
                        "Make the folder {} first, or correct the path.",
                        folder.display()
                    ),
                )
                .into());
            }
            named
        }
        None => desk::usual_store()?,
    };
    let service = Service::open(&store)?;
    if let Verb::Serve(args) = &verb {
        return serve::run(args, service, cli.json, page);
    }
    let out = &mut io::stdout().lock();
    let desk = &mut Desk {
        service,
        json: cli.json,
        request: cli.request.as_deref(),
        out,
    };
    match verb {
        Verb::Shelf => shelf::run(desk),
        Verb::Stock(verb) => stock::run(verb, desk),
        Verb::Can(verb) => can::run(verb, desk),
        Verb::Loader(verb) => loader::run(verb, desk),
        Verb::Cassette(verb) => cassette::run(verb, desk),
        Verb::Want(verb) => want::run(verb, desk),
        Verb::Plan { verb } => plan::run(verb, desk),
        Verb::Wind(args) => wind::run(args, desk),
        Verb::Roll(verb) => roll::run(verb, desk),
        Verb::Camera(verb) => camera::run(verb, desk),
        Verb::Note(verb) => note::run(verb, desk),
        Verb::Find(args) => find::run(&args, desk),
        Verb::Scan(verb) => scan::run(verb, desk),
        Verb::Wedge(verb) => wedge::run(verb, desk),
        Verb::Card(verb) => card::run(verb, desk),
        Verb::Wet(verb) => wet::run(verb, desk),
        Verb::Bath(verb) => bath::run(verb, desk),
        Verb::Binder(verb) => binder::run(verb, desk),
        Verb::Recipe(verb) => recipe::run(verb, desk),
        Verb::Tank(verb) => recipe::tanks(verb, desk),
        Verb::Reel(verb) => recipe::reels(verb, desk),
        Verb::Time(verb) => recipe::times(verb, desk),
        Verb::Device(verb) => device::run(verb, desk),
        Verb::Place(verb) => place::run(verb, desk),
        Verb::Cost(args) => cost::run(&args, desk),
        Verb::Purchase(verb) => cost::purchases(verb, desk),
        Verb::Print(verb) => print::run(verb, desk),
        Verb::History(args) => journal::history(&args, desk),
        Verb::Undo { entry } => journal::undo(entry, desk),
        Verb::Settings { verb } => settings::run(verb, desk),
        Verb::Backup { file } => {
            desk.service.backup_to(&file)?;
            desk.answer(
                format!("Copied the store to {}.\n", file.display()),
                || serde_json::json!({ "file": file.display().to_string() }),
            )
        }
        Verb::Calc(_) | Verb::Demo(_) | Verb::Serve(_) => Ok(()),
    }
}

/// The parser's complaint in our four parts.
fn misused(error: &clap::Error, args: &[OsString]) -> Failure {
    let text = error.render().to_string();
    let mut paragraphs = text.split("\n\n").map(str::trim);
    let what = paragraphs
        .next()
        .unwrap_or_default()
        .trim_start_matches("error: ");
    let usage = text
        .lines()
        .find_map(|l| l.trim().strip_prefix("Usage: "))
        .unwrap_or("spoolwright VERB");
    let tip = text.lines().find_map(|l| l.trim().strip_prefix("tip: "));
    let given: Vec<_> = args.iter().skip(1).map(|a| a.to_string_lossy()).collect();
    let given = if given.is_empty() {
        "nothing".to_owned()
    } else {
        given.join(" ")
    };
    let what = match error.kind() {
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand | ErrorKind::MissingSubcommand => {
            "a verb is missing".to_owned()
        }
        _ => what.split_whitespace().collect::<Vec<_>>().join(" "),
    };
    Error::new(
        Kind::Unknown,
        what,
        crate::calc::words::shorten(&given),
        usage,
        match tip {
            Some(tip) => format!("Tip: {tip}. `--help` shows what there is."),
            None => "`--help` shows what there is.".to_owned(),
        },
    )
    .into()
}
