//! `spoolwright wind`: the queue at the loader, and what really happened there.

use std::fmt::Write;

use serde_json::{Value, json};
use spoolwright_core::shelf::TicketId;
use spoolwright_core::ticket::Stop;
use spoolwright_core::{Error, Kind};

use super::Failure;
use super::desk::{Desk, Table, chance, listed, or_dash};
use crate::service::queue::{TicketDraft, TicketView};
use crate::service::winding::WindDraft;
use spoolwright_core::quantity::Z95;

#[derive(clap::Args)]
#[command(
    args_conflicts_with_subcommands = false,
    subcommand_precedence_over_arg = true
)]
pub(super) struct Args {
    /// The ticket: its number, or the label its roll will get.
    ticket: Option<String>,
    #[command(subcommand)]
    step: Option<Step>,
}

#[derive(clap::Subcommand)]
enum Step {
    /// The tickets waiting (this is what `wind` alone does).
    List,
    /// Queue a roll that no plan asked for.
    Add(TicketDraft),
    /// TICKET: everything to have at hand (this is what `wind TICKET` alone does).
    Show,
    /// TICKET: it was wound as the ticket says.
    Done(Into),
    /// TICKET: winding stopped at another click.
    StoppedAt {
        /// Clicks counted; or what the dial shows, as "dial 15".
        clicks: String,
        #[command(flatten)]
        into: Into,
    },
    /// TICKET: the can ran out at this click.
    RanOut {
        /// Clicks counted when the film ended; or what the dial shows, as "dial 15".
        clicks: String,
        #[command(flatten)]
        into: Into,
    },
    /// TICKET: take it out of the queue.
    Drop,
}

#[derive(clap::Args)]
struct Into {
    /// The cassette it went into: its label.
    #[arg(long, default_value = "")]
    cassette: String,
    /// It is so, however unlikely.
    #[arg(long)]
    sure: bool,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    note: String,
}

impl Into {
    fn draft(self, clicks: String, ran_out: bool) -> WindDraft {
        let yes = |on: bool| if on { "yes" } else { "" }.to_owned();
        let (clicks, dial) = match clicks.strip_prefix("dial ") {
            Some(dial) => (String::new(), dial.to_owned()),
            None => (clicks, String::new()),
        };
        WindDraft {
            cassette: self.cassette,
            clicks,
            dial,
            ran_out: yes(ran_out),
            sure: yes(self.sure),
            note: self.note,
        }
    }
}

pub(super) fn run(args: Args, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let step = match (args.step, &args.ticket) {
        (Some(step), _) => step,
        (None, Some(_)) => Step::Show,
        (None, None) => Step::List,
    };
    let draft = match step {
        Step::List => return list(desk),
        Step::Add(draft) => {
            let made = desk.service.add_ticket(&draft, desk.request)?;
            let id = made.value;
            desk.made(made, |id| json!({ "id": id.0 }))?;
            if let Some(id) = id.filter(|_| !desk.json) {
                let label = desk.service.ticket(id)?.label;
                writeln!(desk.out, "Ticket {id}: it will be {label}.")?;
            }
            return Ok(());
        }
        Step::Show => {
            let view = desk.service.ticket(ticket(desk, args.ticket.as_deref())?)?;
            return desk.answer(told(&view), || of(&view));
        }
        Step::Drop => {
            let id = ticket(desk, args.ticket.as_deref())?;
            let made = desk.service.drop_ticket(id, desk.request)?;
            return desk.told(made);
        }
        Step::Done(into) => into.draft(String::new(), false),
        Step::StoppedAt { clicks, into } => into.draft(clicks, false),
        Step::RanOut { clicks, into } => into.draft(clicks, true),
    };
    let id = ticket(desk, args.ticket.as_deref())?;
    let made = desk.service.wind(id, &draft, desk.request)?;
    desk.made(made, |wound| match wound.roll {
        Some((id, label)) => json!({ "roll": { "id": id.0, "label": label } }),
        None => json!({}),
    })
}

/// The ticket that a number, or the label of the roll to come, means.
fn ticket(desk: &Desk<'_>, text: Option<&str>) -> Result<TicketId, Failure> {
    let Some(text) = text else {
        return Err(Error::missing(
            "wind: which ticket",
            "the number of a ticket, or the label its roll will get",
            "Name it first: spoolwright wind TICKET done.",
        )
        .into());
    };
    if let Ok(number) = text.parse() {
        return Ok(TicketId(number));
    }
    let queue = desk.service.queue()?;
    let found = queue
        .iter()
        .find(|t| t.label.eq_ignore_ascii_case(text.trim()));
    found.map(|t| t.ticket.id).ok_or_else(|| {
        let waiting: Vec<String> = queue
            .iter()
            .map(|t| format!("{} ({})", t.ticket.id, t.label))
            .collect();
        let waiting = if waiting.is_empty() {
            "none is waiting".to_owned()
        } else {
            waiting.join(", ")
        };
        Error::new(
            Kind::Unknown,
            "ticket",
            text,
            waiting,
            "Name a ticket that is waiting.",
        )
        .into()
    })
}

fn list(desk: &mut Desk<'_>) -> Result<(), Failure> {
    let queue = desk.service.queue()?;
    let mut table = Table::new(&[
        ">ticket", "roll", "stock", ">frames", ">clicks", "stop at", ">chance", "for",
    ]);
    for t in &queue {
        table.row([
            t.ticket.id.to_string(),
            t.label.clone(),
            t.stock.name.clone(),
            t.ticket.frames.to_string(),
            t.sheet.clicks.to_string(),
            stop(t),
            chance(t.chance),
            t.want.clone().unwrap_or_else(|| t.ticket.reason.clone()),
        ]);
    }
    desk.answer(
        listed(
            table,
            "No ticket is waiting: `spoolwright plan` makes some.",
        ),
        || queue.iter().map(of).collect(),
    )
}

fn stop(t: &TicketView) -> String {
    match t.sheet.stop {
        Stop::Dial { reading, .. } => format!("dial {reading}"),
        Stop::Crank { turns, .. } => format!("{turns} turns"),
    }
}

fn told(t: &TicketView) -> String {
    let s = &t.sheet;
    let mut text = format!("Ticket {} · {} · {}\n", t.ticket.id, t.label, t.stock.name);
    if let Some(unrecorded) = &t.unrecorded {
        text.push_str(&format!("! {unrecorded}\n"));
    }
    // Writing to a string cannot fail.
    let _ = writeln!(
        text,
        "  wind       {} clicks: {} frames + {} leader + {} tail",
        s.clicks, s.frame_clicks, s.leader_clicks, s.tail_clicks
    );
    let _ = writeln!(text, "  stop at    {}", stop(t));
    let _ = writeln!(text, "  light      {}", t.ticket.light.word());
    let _ = writeln!(
        text,
        "  label      {} frames at EI {}",
        t.ticket.frames,
        or_dash(t.ei)
    );
    let _ = writeln!(
        text,
        "  loader     {}",
        or_dash(t.loader.as_ref().map(|l| &l.loader.name))
    );
    let _ = writeln!(
        text,
        "  draws      {:.3} ± {:.3} m",
        s.drawn_mm.mean / 1e3,
        Z95 * s.drawn_mm.sd / 1e3
    );
    let _ = writeln!(
        text,
        "  chance     {} that can {} still holds it",
        chance(t.chance),
        t.can
    );
    let cassettes: Vec<&str> = t
        .cassettes
        .iter()
        .map(|c| c.label.as_str())
        .take(12)
        .collect();
    let _ = writeln!(text, "  cassettes  {}", cassettes.join(", "));
    let purpose = t.want.as_ref().unwrap_or(&t.ticket.reason);
    if !purpose.is_empty() {
        let _ = writeln!(text, "  for        {purpose}");
    }
    for a in &s.anatomy {
        let _ = writeln!(
            text,
            "  {:<10} {:>6.0} to {:>6.0} mm from the spool",
            a.part.word().replace('_', " "),
            a.start.to_mm(),
            a.end.to_mm()
        );
    }
    for c in &s.caveats {
        let _ = writeln!(text, "  ! {}", c.text);
    }
    text
}

fn of(t: &TicketView) -> Value {
    let s = &t.sheet;
    let mut json = json!({
        "id": t.ticket.id.0, "state": t.ticket.state.word(), "label": t.label, "can": t.can,
        "stock": t.stock.name, "frames": t.ticket.frames,
        "advance_perforations": t.ticket.advance_perforations, "light": t.ticket.light.word(),
        "clicks": s.clicks, "frame_clicks": s.frame_clicks, "leader_clicks": s.leader_clicks,
        "tail_clicks": s.tail_clicks, "ei": t.ei, "want": t.want, "reason": t.ticket.reason,
        "unrecorded": t.unrecorded,
        "drawn_m": { "mean": s.drawn_mm.mean / 1e3, "sd": s.drawn_mm.sd / 1e3 },
        "probability": t.chance, "roll": t.roll.as_ref().map(|r| &r.label),
        "anatomy": s.anatomy.iter().map(|a| json!({
            "part": a.part.word(), "start_mm": a.start.to_mm(), "end_mm": a.end.to_mm(),
        })).collect::<Value>(),
        "loader": t.loader.as_ref().map(|l| &l.loader.name),
        "caveats": s.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Value>(),
    });
    match s.stop {
        Stop::Dial { reading, .. } => json["dial_stop"] = reading.into(),
        Stop::Crank { turns, exact } => {
            json["turns"] = turns.into();
            json["turns_exact"] = exact.into();
        }
    }
    json
}
