//! What stands on the shelf and what is wanted of it: stocks, cans, loaders, cassettes, wants,
//! tickets, rolls, and the evidence a can has given.
//!
//! Plain records with units in their names. They hold what a person said; what can be derived
//! (what is left, whether a want is met, how often a cassette was used) is never in them.

use crate::film::{Light, Pitch};
use crate::quantity::Estimate;
use crate::words::worded;

macro_rules! ids {
    ($($(#[$meta:meta])* $name:ident),+ $(,)?) => { $(
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(pub i64);

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }
    )+ };
}

ids! {
    /// A stock's number in the store.
    StockId,
    /// A can's number in the store.
    CanId,
    /// A loader's number in the store.
    LoaderId,
    /// A cassette's number in the store.
    CassetteId,
    /// A want's number in the store.
    WantId,
    /// A winding ticket's number in the store.
    TicketId,
    /// A roll's number in the store.
    RollId,
    /// A piece of evidence's number in the store.
    EvidenceId,
    /// A journal entry's number in the store.
    EntryId,
    /// A wedge test's number in the store.
    WedgeTestId,
    /// A wedge test's strip's number in the store.
    WedgeStripId,
    /// A stock card's number in the store.
    StockCardId,
    /// A recipe's number in the store.
    RecipeId,
    /// A step's number in the store.
    StepId,
    /// A development run's number in the store.
    RunId,
    /// A roll's place in a run, its number in the store.
    RunRollId,
    /// A mark of a run's clock, its number in the store.
    MarkId,
    /// A tank's number in the store.
    TankId,
    /// A kind of reel's number in the store.
    ReelId,
    /// A bath's number in the store.
    BathId,
    /// A bath's event's number in the store.
    BathEventId,
    /// A user's own developing time's number in the store.
    SheetTimeId,
    /// A camera's number in the store.
    CameraId,
    /// A roll's stay in a camera, its number in the store.
    CameraLoadId,
    /// A frame note's number in the store.
    FrameNoteId,
    /// A page format's number in the store.
    PageFormatId,
    /// A binder's number in the store.
    BinderId,
    /// A binder's page's number in the store.
    BinderPageId,
    /// A filed strip's number in the store.
    StripId,
    /// A scan's number in the store.
    ScanFileId,
    /// A storage place's number in the store.
    StoragePlaceId,
    /// A thing's stay in a storage place, its number in the store.
    KeptId,
    /// A purchase's number in the store.
    PurchaseId,
}

worded! {
    /// What a stock is developed to.
    Process {
        /// Black-and-white negative.
        #[default]
        Negative = "negative",
        /// Black-and-white reversal.
        Reversal = "reversal",
        /// Colour negative.
        ColourNegative = "colour-negative",
        /// Colour reversal.
        ColourReversal = "colour-reversal",
    }
}

impl Process {
    /// Whether the picture is one of dyes.
    pub const fn is_colour(self) -> bool {
        matches!(self, Self::ColourNegative | Self::ColourReversal)
    }
}

worded! {
    /// What the film base is made of.
    Base {
        /// Nobody knows: ask before anything else if the film is old.
        #[default]
        Unknown = "unknown",
        /// Cellulose acetate, "safety" base.
        Acetate = "acetate",
        /// Polyester: thin and tough; more frames fit a cassette, and it does not tear.
        Polyester = "polyester",
        /// Cellulose nitrate: a fire hazard; handled by archives only.
        Nitrate = "nitrate",
    }
}

worded! {
    /// What is on the back of a film.
    Backing {
        /// Nobody has looked.
        #[default]
        Unknown = "unknown",
        /// What still film has: a layer that washes out or stays, and needs no step of its own.
        Usual = "usual",
        /// Remjet: carbon in a binder, on some motion-picture stock; it must be softened and removed [M6].
        Remjet = "remjet",
    }
}

worded! {
    /// Where a winding ticket stands.
    TicketState {
        /// Waiting at the loader.
        #[default]
        Queued = "queued",
        /// Wound: there is a roll.
        Wound = "wound",
        /// Not to be wound after all.
        Dropped = "dropped",
    }
}

worded! {
    /// Where a roll is in its life.
    RollState {
        /// In its cassette, unexposed.
        #[default]
        Wound = "wound",
        /// In a camera.
        InCamera = "in-camera",
        /// Exposed, waiting to be developed.
        Exposed = "exposed",
        /// Developed, waiting to be filed.
        Developed = "developed",
        /// Filed in the binder.
        Filed = "filed",
        /// Lost or scrapped; the roll's note says why.
        Scrapped = "scrapped",
    }
}

impl RollState {
    /// Whether the roll still sits in its cassette.
    pub const fn holds_cassette(self) -> bool {
        matches!(self, Self::Wound | Self::InCamera | Self::Exposed)
    }
}

worded! {
    /// Why a can is closed.
    CanState {
        /// In use.
        #[default]
        Open = "open",
        /// Wound to its end.
        Empty = "empty",
        /// Given away, lost or thrown out.
        Gone = "gone",
    }
}

/// A kind of film, as the photographer calls it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Number in the store.
    pub id: StockId,
    /// The photographer's own name for it.
    pub name: String,
    /// Speed to rate it at when nothing better is known (ISO or EI); none when unknown.
    pub ei: Option<f64>,
    /// What it is developed to.
    pub process: Process,
    /// What the base is made of.
    pub base: Base,
    /// What is on its back.
    pub backing: Backing,
    /// Perforation pitch.
    pub pitch: Pitch,
    /// Total thickness in mm, if measured or from a sheet.
    pub thickness_mm: Option<Estimate>,
    /// Grams per metre, if weighed.
    pub linear_mass_g_per_m: Option<Estimate>,
    /// What a ready-wound roll of 36 of it costs, for comparison.
    pub ready_wound_price: Option<f64>,
    /// Free text.
    pub note: String,
    /// No longer offered in forms.
    pub closed: bool,
}

/// One bulk length of a stock, in its can or loader.
#[derive(Debug, Clone, PartialEq)]
pub struct Can {
    /// Number in the store.
    pub id: CanId,
    /// Which stock it holds.
    pub stock: StockId,
    /// Letters its rolls are labelled with: `HM` gives `HM-07`.
    pub letters: String,
    /// Length when it came, metres, with how sure that is.
    pub length_m: Estimate,
    /// Which kind of can, bag and core it came in: cans of one kind weigh alike when empty.
    pub package: String,
    /// Weight of this can, bag and core without film, if known, grams.
    pub tare_g: Option<Estimate>,
    /// Outer diameter of its core, mm.
    pub core_mm: f64,
    /// The loader it sits in or is wound with.
    pub loader: Option<LoaderId>,
    /// The longer can it was broken from.
    pub parent: Option<CanId>,
    /// What it cost, in the user's currency.
    pub price: Option<f64>,
    /// Date it was bought, `YYYY-MM-DD`.
    pub bought_on: Option<String>,
    /// Date printed on it, `YYYY-MM-DD`.
    pub expires_on: Option<String>,
    /// Temperature it is kept at, °C; none for room temperature.
    pub kept_c: Option<f64>,
    /// Free text.
    pub note: String,
    /// Open, or why it is closed.
    pub state: CanState,
}

/// How a loader tells how much film it has wound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LoaderKind {
    /// A sprocket counter that clicks every eight perforations.
    Counter {
        /// Where the dial stands before the first click, relative to zero.
        dial_zero: i32,
    },
    /// No counter: a crank turns the cassette's own spool.
    Crank {
        /// Diameter of the cassette's hub, mm.
        hub_mm: f64,
    },
}

/// A bulk loader.
#[derive(Debug, Clone, PartialEq)]
pub struct Loader {
    /// Number in the store.
    pub id: LoaderId,
    /// The photographer's name for it.
    pub name: String,
    /// Counter or crank.
    pub kind: LoaderKind,
    /// Clicks to allow for the leader.
    pub leader_clicks: u32,
    /// Clicks to allow at the tail when it is wound in room light.
    pub tail_clicks: u32,
    /// Its own click scale, if measured.
    pub click_scale: Option<Estimate>,
    /// Film it takes uncounted per roll in mm, if measured.
    pub uncounted_mm: Option<Estimate>,
    /// Free text.
    pub note: String,
    /// No longer offered in forms.
    pub closed: bool,
}

/// A reloadable cassette.
#[derive(Debug, Clone, PartialEq)]
pub struct Cassette {
    /// Number in the store.
    pub id: CassetteId,
    /// What is written on it.
    pub label: String,
    /// Most frames to wind into it.
    pub most_frames: u32,
    /// It has leaked light: shown as a warning, not offered.
    pub leaks: bool,
    /// Retired: kept for its history, not offered.
    pub retired: bool,
    /// Free text.
    pub note: String,
    /// Times it was filled before this record began.
    pub earlier_uses: u32,
}

/// Something to be photographed that needs film.
#[derive(Debug, Clone, PartialEq)]
pub struct Want {
    /// Number in the store.
    pub id: WantId,
    /// What for.
    pub what_for: String,
    /// By when, `YYYY-MM-DD`.
    pub by_when: Option<String>,
    /// Frames wanted.
    pub frames: u32,
    /// 1 is most important.
    pub priority: u32,
    /// Stocks that will do.
    pub stocks: Vec<StockId>,
    /// EI to label the rolls with; none for the stock's own.
    pub ei: Option<f64>,
    /// Camera it is meant for.
    pub camera: String,
    /// Perforations a frame takes in that camera: 8 full, 4 half.
    pub advance_perforations: u32,
    /// Dropped: no longer planned for.
    pub dropped: bool,
}

/// What to do at the loader for one roll.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticket {
    /// Number in the store.
    pub id: TicketId,
    /// The can to wind from.
    pub can: CanId,
    /// The want it serves.
    pub want: Option<WantId>,
    /// The loader to wind with.
    pub loader: Option<LoaderId>,
    /// Frames to come out, of `advance_perforations` each.
    pub frames: u32,
    /// Perforations of one frame.
    pub advance_perforations: u32,
    /// Clicks for the leader.
    pub leader_clicks: u32,
    /// Clicks for the tail.
    pub tail_clicks: u32,
    /// Room light or darkness.
    pub light: Light,
    /// EI to label it with.
    pub ei: Option<f64>,
    /// Why this roll: one sentence.
    pub reason: String,
    /// Running number its roll will have: fixed from the start, since it is printed and written on cassettes.
    pub number: u32,
    /// Queued, wound or dropped.
    pub state: TicketState,
}

/// A wound roll.
#[derive(Debug, Clone, PartialEq)]
pub struct Roll {
    /// Number in the store.
    pub id: RollId,
    /// The can it came from.
    pub can: CanId,
    /// Running number within the can's letters.
    pub number: u32,
    /// `HM-07`.
    pub label: String,
    /// The cassette it sits or sat in.
    pub cassette: Option<CassetteId>,
    /// The want it serves.
    pub want: Option<WantId>,
    /// The ticket it was wound by.
    pub ticket: Option<TicketId>,
    /// The loader it was wound with.
    pub loader: Option<LoaderId>,
    /// Frames it should give.
    pub frames: u32,
    /// Perforations of one frame.
    pub advance_perforations: u32,
    /// Clicks it was wound to.
    pub clicks: f64,
    /// Clicks allowed for the leader.
    pub leader_clicks: u32,
    /// Clicks allowed at the tail.
    pub tail_clicks: u32,
    /// Room light or darkness.
    pub light: Light,
    /// EI on its label.
    pub ei: Option<f64>,
    /// Where it is in its life.
    pub state: RollState,
    /// When it was wound, UTC, RFC 3339.
    pub wound_at: String,
    /// Free text; the reason when scrapped.
    pub note: String,
}

impl Roll {
    /// A roll's label from its can's letters and number: `HM-07`.
    pub fn label_of(letters: &str, number: u32) -> String {
        format!("{letters}-{number:02}")
    }
}

/// One thing learnt about how much film a can holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Evidence {
    /// A roll was wound to this many clicks.
    Wound {
        /// The loader it passed.
        loader: Option<LoaderId>,
        /// Clicks counted.
        clicks: f64,
    },
    /// A measured length left the can: a part roll broken off, or film thrown away.
    Taken {
        /// Length in mm with its standard deviation.
        length_mm: Estimate,
    },
    /// The closed can on a scale, grams.
    Weighed {
        /// Reading with its standard deviation.
        grams: Estimate,
    },
    /// The empty can, bag and core on a scale, grams.
    WeighedEmpty {
        /// Reading with its standard deviation.
        grams: Estimate,
    },
    /// The roll's outer diameter, taken in the dark, mm.
    Gauged {
        /// Reading with its standard deviation.
        outer_mm: Estimate,
        /// The core it sat on.
        core_mm: f64,
    },
    /// A roll wound from this can was measured end to end, offcuts included.
    Measured {
        /// The loader it passed.
        loader: Option<LoaderId>,
        /// Clicks it was wound to.
        clicks: f64,
        /// All the film it drew, mm.
        length_mm: Estimate,
    },
    /// The film ended at this click of a roll.
    RanOut {
        /// The loader it passed.
        loader: Option<LoaderId>,
        /// Clicks counted to the end.
        clicks: f64,
    },
}

/// A piece of evidence with where and when.
#[derive(Debug, Clone, PartialEq)]
pub struct EvidenceRecord {
    /// Number in the store; also its order in time.
    pub id: EvidenceId,
    /// The can it is about.
    pub can: CanId,
    /// The roll it came with, if any.
    pub roll: Option<RollId>,
    /// When, UTC, RFC 3339.
    pub at: String,
    /// What was learnt.
    pub evidence: Evidence,
}

/// One entry of the journal: a change a person made.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalEntry {
    /// Number in the store; also its order in time.
    pub id: EntryId,
    /// When, UTC, RFC 3339.
    pub at: String,
    /// A stable word for the kind of change, such as `can.weighed`.
    pub verb: String,
    /// One sentence, past tense.
    pub story: String,
    /// The entry this one undid.
    pub undoes: Option<EntryId>,
    /// Whether it has been undone since.
    pub undone: bool,
}
