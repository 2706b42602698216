//! The wet bench's records: what is put comes back to the last digit; steps are replaced and put back; undo is exact.

use spoolwright_core::film::{Light, Pitch};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::shelf::{
    Backing, Base, BathEventId, BathId, Can, CanId, CanState, MarkId, Process, ReelId, Roll,
    RollId, RollState, RunId, RunRollId, SheetTimeId, Stock, StockId, TankId,
};
use spoolwright_core::wet::bath::{
    BathKind, BathUse, Correction, FixerPlace, FixerSort, Look, What,
};
use spoolwright_core::wet::recipe::{Owner, Recipe, Step, StepKind};
use spoolwright_core::wet::record::{
    BathCard, BathEvent, Exposure, Reel, Run, RunRoll, RunState, SheetTime, Tank, TimeSource,
};
use spoolwright_core::wet::starters::starters;
use spoolwright_core::wet::timer::{Mark, MarkKind, Moment};
use spoolwright_store::{Done, Error, Record, Store};
use std::fmt::Debug;

const NOW: &str = "2026-03-01T10:00:00Z";

fn put<R: Record>(store: &mut Store, record: &R) -> R::Id {
    store
        .change::<_, Error>(NOW, None, |c| {
            Ok(("test.put", "Put it".into(), c.put(record)?))
        })
        .unwrap()
        .value()
        .unwrap()
}

/// Puts a record and holds that the same comes back.
fn kept<R: Record + PartialEq + Debug>(
    store: &mut Store,
    record: R,
    numbered: impl FnOnce(R, R::Id) -> R,
) -> R::Id {
    let id = put(store, &record);
    assert_eq!(store.get::<R>(id).unwrap(), Some(numbered(record, id)));
    id
}

fn stock(store: &mut Store) -> StockId {
    kept(
        store,
        Stock {
            id: StockId(0),
            name: "Night Tram 500".into(),
            ei: None,
            process: Process::ColourNegative,
            base: Base::Acetate,
            backing: Backing::Remjet,
            pitch: Pitch::Short,
            thickness_mm: None,
            linear_mass_g_per_m: None,
            ready_wound_price: None,
            note: String::new(),
            closed: false,
        },
        |s, id| Stock { id, ..s },
    )
}

fn roll(store: &mut Store, stock: StockId) -> RollId {
    let can = put(
        store,
        &Can {
            id: CanId(0),
            stock,
            letters: "NT".into(),
            length_m: Estimate::new(30.5, 0.2),
            package: String::new(),
            tare_g: None,
            core_mm: 50.8,
            loader: None,
            parent: None,
            price: None,
            bought_on: None,
            expires_on: None,
            kept_c: None,
            note: String::new(),
            state: CanState::Open,
        },
    );
    put(
        store,
        &Roll {
            id: RollId(0),
            can,
            number: 1,
            label: "NT-01".into(),
            cassette: None,
            want: None,
            ticket: None,
            loader: None,
            frames: 36,
            advance_perforations: 8,
            clicks: 42.0,
            leader_clicks: 4,
            tail_clicks: 2,
            light: Light::Room,
            ei: None,
            state: RollState::Exposed,
            wound_at: NOW.into(),
            note: String::new(),
        },
    )
}

fn run() -> Run {
    Run {
        id: RunId(0),
        recipe: None,
        tank: None,
        made_on: "2026-03-01".into(),
        volume_ml: 600.0,
        time_source: TimeSource::Sheet,
        time_because: "the box".into(),
        rehearsal: None,
        state: RunState::Planned,
        note: String::new(),
    }
}

#[test]
fn everything_comes_back_to_the_last_digit() {
    let store = &mut Store::in_memory().unwrap();
    let stock = stock(store);
    let roll = roll(store, stock);
    let reel = Reel {
        id: ReelId(0),
        name: "Steel".into(),
        count: 4,
        longest_mm: 1650.0 + 1.0 / 3.0,
        takes_two: true,
        closed: false,
    };
    let reel = kept(store, reel, |r, id| Reel { id, ..r });
    let tank = Tank {
        id: TankId(0),
        name: "Tall".into(),
        reel,
        volume_ml: vec![290.0, 590.5],
        closed: false,
    };
    let tank = kept(store, tank, |t, id| Tank { id, ..t });
    let (recipe, _) = starters().remove(0);
    let recipe = kept(store, recipe, |r, id| Recipe { id, ..r });
    let real = Run {
        recipe: Some(recipe),
        tank: Some(tank),
        rehearsal: Some(60.0),
        ..run()
    };
    let run = kept(store, real, |r, id| Run { id, ..r });
    let of = RunRoll {
        id: RunRollId(0),
        run,
        roll,
        reel: 1,
        usable: Some(35),
        fogged_start: None,
        fogged_end: Some(1),
        exposure: Exposure::Under,
        note: "thin".into(),
    };
    let of = kept(store, of, |r, id| RunRoll { id, ..r });
    assert_eq!(store.rolls_of_run(run).unwrap()[0].id, of);
    assert_eq!(store.runs_of_roll(roll).unwrap()[0].run, run);
    let mark = Mark {
        id: MarkId(0),
        run,
        at_s: 0.1 + 0.2,
        kind: MarkKind::Reading,
        step: None,
        value: Some(20.4),
        note: String::new(),
        moment: Moment {
            boot: "b".into(),
            since_boot_s: 1.0 / 3.0,
            utc: NOW.into(),
        },
    };
    let mark = kept(store, mark, |m, id| Mark { id, ..m });
    assert_eq!(store.marks_of(run).unwrap()[0].id, mark);
    let time = SheetTime {
        id: SheetTimeId(0),
        stock,
        developer: "House".into(),
        dilution: "1+9".into(),
        ei: Some(400.0),
        time_min: 8.25,
        temperature_c: 20.0,
        source: TimeSource::Own,
        note: String::new(),
        closed: false,
    };
    let time = kept(store, time, |t, id| SheetTime { id, ..t });
    assert_eq!(store.times_of_stock(stock).unwrap()[0].id, time);
    for correction in [
        None,
        Some(Correction::None),
        Some(Correction::PerRun(10.0)),
        Some(Correction::PerRollPerLitre(10.0 / 3.0)),
    ] {
        let bath = BathCard {
            id: BathId(0),
            name: "Fixer, brown bottle".into(),
            kind: BathKind::Fixer,
            usage: BathUse::Reused,
            mixed_from: "powder".into(),
            dilution: "1+4".into(),
            mixed_on: "2026-02-01".into(),
            volume_ml: 1000.0,
            capacity_m2_per_l: Some(1.032),
            correction,
            shelf_life_days: Some(180.0),
            rate_ml_per_m2: None,
            fixer: FixerSort::Alkaline,
            place: FixerPlace::First,
            high_iodide: true,
            note: String::new(),
            closed: false,
        };
        let bath = kept(store, bath, |b, id| BathCard { id, ..b });
        for what in [
            What::Run { area_m2: 0.0516 },
            What::Clearing {
                seconds: 45.0,
                at_c: 20.5,
            },
            What::Looked(Look::Doubtful),
            What::Replenished { ml: 20.0 },
            What::ToppedUp { ml: 50.0 },
        ] {
            let event = BathEvent {
                id: BathEventId(0),
                bath,
                day: "2026-03-01".into(),
                run: Some(run),
                what,
                note: String::new(),
            };
            kept(store, event, |e, id| BathEvent { id, ..e });
        }
        assert_eq!(store.events_of_bath(bath).unwrap().len(), 5);
    }
    assert_eq!(store.draws_of_run(run).unwrap().len(), 20);
    assert_eq!(store.runs_in(RunState::Planned).unwrap().len(), 1);
}

#[test]
fn steps_are_replaced_and_put_back_by_undo() {
    let store = &mut Store::in_memory().unwrap();
    let (recipe, steps) = starters().remove(0);
    let recipe = put(store, &recipe);
    let owner = Owner::Recipe(recipe);
    let write = |store: &mut Store, steps: &[Step]| {
        let done: Done<()> = store
            .change::<_, Error>(NOW, None, |c| {
                c.put_steps(owner, steps)?;
                Ok(("recipe.saved", "Changed the steps".into(), ()))
            })
            .unwrap();
        done.entry()
    };
    write(store, &steps);
    let before = store.steps_of(owner).unwrap();
    assert_eq!(before.len(), steps.len());
    for (a, b) in before.iter().zip(&steps) {
        assert_eq!(
            *a,
            Step {
                id: a.id,
                owner,
                ..b.clone()
            }
        );
    }
    let shorter = [
        Step::plain(owner, 0, StepKind::Developer, 500.0),
        Step::plain(owner, 1, StepKind::Fixer, 300.0),
    ];
    let entry = write(store, &shorter).unwrap();
    assert_eq!(store.steps_of(owner).unwrap().len(), 2);
    store.undo(NOW, None, entry).unwrap();
    assert_eq!(store.steps_of(owner).unwrap(), before);
    assert_eq!(write(store, &steps), None, "the same steps are no change");
}
