//! The recipes to begin with, against the manuals they follow, and what the wet bench's sentences must not say.

use spoolwright_core::wet::fixing;
use spoolwright_core::wet::recipe::{Agitation, Owner, Step, StepKind};
use spoolwright_core::wet::starters::starters;
use spoolwright_core::wet::temperature::SOUND_C;
use spoolwright_core::wet::timer::{Call, CallKind, calls};
use spoolwright_core::wet::wash;
use std::path::Path;

/// Source: [D7b], as printed: 15 s, then 5 s in 30 s; a stop of 30 to 60 s. [M8] for film with remjet: prebath
/// 27 ± 1 °C, removal 27 ± 3 °C, colour developer 41.1 ± 0.1 °C.
#[test]
fn recipes_keep_to_the_manuals() {
    let near = |step: &Step, c: f64, by: f64| {
        let at = step.temperature_c.expect("a temperature");
        assert!((at - c).abs() <= by, "{:?}: {at} °C", step.kind);
    };
    for (recipe, steps) in starters() {
        for step in steps {
            match step.kind {
                StepKind::Stop => assert!((30.0..=60.0).contains(&step.time_s), "{}", recipe.name),
                StepKind::Fixer => assert_eq!(step.agitation, fixing::AGITATION[0]),
                StepKind::Prebath => near(&step, 27.0, 1.0),
                StepKind::BackingRemoval => near(&step, 27.0, 3.0),
                StepKind::ColourDeveloper if recipe.name.starts_with("Remjet") => {
                    near(&step, 41.1, 0.1);
                }
                _ => {}
            }
        }
    }
    let patterns = fixing::AGITATION.map(|a| (a.first_s, a.for_s, a.every_s));
    assert_eq!(patterns, [(15.0, 5.0, 30.0), (15.0, 10.0, 60.0)]);
}

/// Source: [D8]: filling takes 10 to 20 s, pouring out begins 10 s before the end.
#[test]
fn pouring_in_and_out() {
    for (recipe, steps) in starters() {
        for s in steps.iter().filter(|s| s.kind != StepKind::Reexposure) {
            assert!((10.0..=20.0).contains(&s.fill_s), "{}", recipe.name);
            assert_eq!(s.drain_s, 10.0, "{}: {:?}", recipe.name, s.kind);
        }
    }
}

/// Source: [D1]: black and white is developed at 20 °C; sluggish below 18 °C, gelatine swells unsafely above 24 to 27 °C.
#[test]
fn black_and_white_is_developed_at_20() {
    // The default range of the sum [D6] is from memory: only that it stays within what the manuals name.
    assert!(18.0 <= SOUND_C.0 && SOUND_C.1 <= 27.0);
    let mut seen = 0;
    for (recipe, steps) in starters() {
        if recipe.process.word().starts_with("colour") {
            continue;
        }
        for s in steps.iter().filter(|s| s.kind.develops()) {
            assert_eq!(s.temperature_c, Some(20.0), "{}", recipe.name);
            seen += 1;
        }
    }
    assert!(4 < seen, "{seen}");
}

/// Source: [D18]: after a clearing agent 5 min of wash, without one 30; rinse 30 s, agent 2 min, wetting agent 1 min.
#[test]
fn a_fixer_is_washed_out() {
    let mut seen = 0;
    for (recipe, steps) in starters() {
        let Some(fixed) = steps.iter().position(|s| s.kind == StepKind::Fixer) else {
            continue;
        };
        let after = &steps[fixed + 1..];
        let agent = after.iter().any(|s| s.kind == StepKind::WashAid);
        let told: Vec<f64> = after.iter().map(|s| s.time_s).collect();
        let asked: Vec<f64> = wash::sequence(agent, 20.0)
            .unwrap()
            .into_iter()
            .map(|(_, s)| s)
            .collect();
        assert_eq!(told, asked, "{}", recipe.name);
        seen += 1;
    }
    assert!(4 < seen, "{seen}");
}

/// By hand: what is moved without pause is moved from the first second to the pouring out.
#[test]
fn without_pause_begins_at_once() {
    let mut seen = 0;
    for (recipe, steps) in starters() {
        for s in steps {
            if s.agitation.spoken() != "without pause" {
                continue;
            }
            let call = |at_s, what| Call { at_s, what };
            let pour_s = s.time_s - s.drain_s;
            let wanted = [
                call(0.0, CallKind::Agitate),
                call(pour_s, CallKind::Rest),
                call(pour_s, CallKind::PourOut),
                call(s.time_s, CallKind::Next),
            ];
            assert_eq!(calls(&s, s.time_s), wanted, "{}: {:?}", recipe.name, s.kind);
            seen += 1;
        }
    }
    assert!(20 < seen, "{seen}");
    // The same for one that somebody typed, with a first time shorter than the rest of it.
    let typed = Step {
        agitation: Agitation {
            first_s: 5.0,
            every_s: 30.0,
            for_s: 30.0,
        },
        ..Step::plain(
            Owner::Recipe(spoolwright_core::shelf::RecipeId(1)),
            0,
            StepKind::Stop,
            45.0,
        )
    };
    assert_eq!(typed.agitation.spans(45.0), [(0.0, 45.0)]);
}

const PROMISES: [&str; 7] = [
    "legal",
    "is safe",
    "harmless",
    "are allowed",
    "is allowed",
    "may be poured",
    "may come on",
];

/// Every text between quotes in a source that has a space: strings that go on over a line's end are joined first.
fn sentences(source: &str) -> Vec<String> {
    let mut joined = String::new();
    for line in source.lines() {
        let line = line.trim();
        if line.starts_with("//") {
            continue;
        }
        match line.strip_suffix('\\') {
            Some(open) => joined += open,
            None => {
                joined += line;
                joined.push('\n');
            }
        }
    }
    let quoted = |line: &str| -> Vec<String> {
        let parts = line.split('"').skip(1).step_by(2);
        parts
            .filter(|q| q.contains(' '))
            .map(str::to_owned)
            .collect()
    };
    joined.lines().flat_map(quoted).collect()
}

fn walk(folder: &Path, said: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            walk(&path, said);
        } else if path.extension().is_some_and(|e| e == "rs") {
            said.extend(sentences(&std::fs::read_to_string(&path).unwrap()));
        }
    }
}

#[test]
fn a_string_over_two_lines_is_one_sentence() {
    let source = "const A: &str = \"one that \\\n     goes on\";\n// \"not this\"\n";
    assert_eq!(sentences(source), ["one that goes on"]);
}

/// What the built-in recipes say, and every sentence in the sources of the wet bench, caveats among them.
#[test]
fn no_sentence_promises() {
    let mut said: Vec<String> = Vec::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for folder in [
        "src/wet",
        "../app/src/service/wet",
        "../app/src/web/pages/wet",
    ] {
        walk(&root.join(folder), &mut said);
    }
    for (recipe, steps) in starters() {
        said.push(recipe.note);
        said.extend(steps.into_iter().map(|s| s.note));
    }
    assert!(900 < said.len(), "{}", said.len());
    let goes_on = "also knows iodine-amylose";
    assert!(said.iter().any(|s| s.contains(goes_on)), "a joined string");
    for text in said {
        let lower = text.to_lowercase();
        for word in PROMISES {
            assert!(!lower.contains(word), "{text}");
        }
    }
}
