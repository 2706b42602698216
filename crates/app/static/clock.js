// Keeps a run's clock moving between two askings of the program, calls out what to do, and sends presses. The program's
// clock holds: a page that slept, was reloaded, or opened on another device shows the same. Where there is no sound or
// speech the same is said by vibration and in words.

const place = document.querySelector("[data-clock]");
const part = (name) => place.querySelector(`[data-${name}]`);
const mss = (seconds) => {
  const whole = Math.round(Math.abs(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
};
const left = (seconds) => (seconds < -0.5 ? "+" : "") + mss(seconds);
const WORDS = { agitate: "Agitate", rest: "Let it stand", "pour-out": "Pour out", next: "Time is up" };
// Each call its own figure of tones: up for movement, down for rest, thrice for pouring out, long for the end.
const TONES = {
  agitate: [[520, 0.12], [780, 0.16]],
  rest: [[780, 0.12], [520, 0.16]],
  "pour-out": [[660, 0.14], [660, 0.14], [660, 0.14]],
  next: [[880, 0.7]],
};
const SHAKES = { agitate: [80, 60, 160], rest: [160], "pour-out": [120, 80, 120, 80, 120], next: [700] };
// A call this many seconds old was slept through: it is not made up for.
const STALE_S = 4;

let known = null; // the program's last answer
let heard = 0; // performance.now() when it came
let called = null; // step and own second up to which calls were made
let silent = 0; // askings in a row that got no answer
let sound = null; // the audio context once a person has asked for it
let awake = null;

const passed = () => ((performance.now() - heard) / 1000) * known.pace;
const own = () => {
  const step = known.step;
  return step.elapsed_s + (step.pause === "out" ? 0 : passed());
};

const say = (what, words) => {
  part("calling").textContent = words;
  navigator.vibrate?.(SHAKES[what]);
  if (!sound) return;
  let at = sound.currentTime;
  for (const [hertz, seconds] of TONES[what]) {
    const tone = sound.createOscillator();
    const gain = sound.createGain();
    tone.frequency.value = hertz;
    gain.gain.setValueAtTime(0.25, at);
    gain.gain.exponentialRampToValueAtTime(0.001, at + seconds);
    tone.connect(gain).connect(sound.destination);
    tone.start(at);
    tone.stop(at + seconds);
    at += seconds + 0.05;
  }
  if ("speechSynthesis" in window) {
    speechSynthesis.cancel();
    speechSynthesis.speak(new SpeechSynthesisUtterance(words));
  }
};

// What a hand should be doing at a second of the step.
const doing = (calls, t) => {
  let now = null;
  let next = null;
  for (const call of calls) {
    if (call.at_s <= t) now = call;
    else if (!next) next = call;
  }
  const then = next ? `, ${WORDS[next.what].toLowerCase()} in ${mss(next.at_s - t)}` : "";
  return (now ? WORDS[now.what] : "Stand by") + then;
};

const draw = () => {
  if (!known) return;
  const step = known.step;
  place.dataset.phase = known.phase;
  if (!step) return;
  const t = own();
  const over = step.ends_s - t < -0.5;
  part("left").textContent = left(step.ends_s - t);
  part("left").classList.toggle("over", over);
  const margin = step.margin_s >= 0.5 ? ` ± ${Math.round(step.margin_s)} s` : "";
  const bath = step.reading_c === null ? "" : ` at ${step.reading_c.toFixed(1)} °C`;
  part("ends").textContent = `${mss(t)} in, ${mss(step.ends_s)} in all${margin}${bath}`;
  if (step.pause) {
    part("calling").textContent =
      step.pause === "out" ? "The bath is out: the time stands still." : "Calls are silent; the film is still in its bath.";
    called = { place: step.place, t };
    return;
  }
  if (called?.place !== step.place) called = { place: step.place, t: step.elapsed_s < STALE_S * known.pace ? -1 : t };
  const due = step.calls.filter((call) => called.t < call.at_s && call.at_s <= t);
  called.t = Math.max(called.t, t);
  const newest = due.at(-1);
  const fresh = newest && (t - newest.at_s) / known.pace < STALE_S;
  if (fresh) {
    const next = newest.what === "next" && known.next ? `: ${known.next.name}` : "";
    say(newest.what, WORDS[newest.what] + next);
  } else if (over) {
    part("calling").textContent = `Time is up${known.next ? `: ${known.next.name}` : ""}`;
  } else if (!part("calling").textContent || t - called.t > 2) {
    part("calling").textContent = doing(step.calls, t);
  }
  part("doing").textContent = over ? "" : doing(step.calls, t);
};

// The parts that only change when something happened come from the page itself, so that they are written once.
const refresh = async () => {
  const response = await fetch(location.pathname, { headers: { accept: "text/html" } });
  if (!response.ok) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const fresh = page.querySelector("[data-clock]");
  if (!fresh) return;
  const typed = place.querySelector("#reading")?.value ?? "";
  const open = [...place.querySelectorAll("details")].map((d) => d.open);
  const focus = document.activeElement?.id;
  place.replaceChildren(...fresh.childNodes);
  prepare();
  const field = place.querySelector("#reading");
  if (field) field.value = typed;
  [...place.querySelectorAll("details")].forEach((d, i) => (d.open = open[i] ?? false));
  if (focus) document.getElementById(focus)?.focus();
};

const shape = (state) => [state.phase, state.step?.place, state.step?.pause, state.by_the_wall, state.others.length].join();

const ask = async () => {
  try {
    const response = await fetch(place.dataset.clock, { cache: "no-store" });
    if (!response.ok) throw new Error(response.statusText);
    const state = await response.json();
    const changed = known && shape(known) !== shape(state);
    known = state;
    heard = performance.now();
    silent = 0;
    if (changed) await refresh();
    for (const [i, other] of state.others.entries()) {
      const row = part("others").querySelectorAll("b")[i];
      if (row) row.textContent = left(other.left_s);
    }
    draw();
  } catch {
    silent += 1;
    if (silent === 5) part("calling").textContent = "The program does not answer. This clock goes on by itself; it will agree again.";
  }
};

const send = async (form) => {
  const body = new URLSearchParams(new FormData(form));
  body.set("request", `${Date.now().toString(36)}-${Math.random().toString(36).slice(2)}`);
  const refused = part("refused");
  refused.hidden = true;
  try {
    const response = await fetch(form.getAttribute("action"), { method: "POST", headers: { accept: "application/json" }, body });
    const answer = await response.json();
    if (!response.ok) {
      refused.textContent = answer.refused ?? "It was refused.";
      refused.hidden = false;
    } else if (form.matches("[data-send]")) {
      form.reset();
    }
  } catch {
    refused.textContent = "The program does not answer: nothing was recorded. Press again.";
    refused.hidden = false;
  }
  await ask();
  await refresh();
};

const listen = () => {
  sound ??= window.AudioContext ? new AudioContext() : null;
  sound?.resume();
};

const prepare = () => {
  if (!part("doing")) {
    const doingNow = document.createElement("p");
    doingNow.dataset.doing = "";
    doingNow.className = "doing";
    part("calling").after(doingNow);
  }
  const button = part("sound");
  button.hidden = false;
  const on = sound !== null;
  button.setAttribute("aria-pressed", String(on));
  part("sound-said").textContent = on ? "on" : window.AudioContext ? "off" : "not to be had here: calls are in words";
  button.addEventListener("click", () => {
    if (sound) {
      sound.close();
      sound = null;
    } else {
      listen();
    }
    const now = sound !== null;
    button.setAttribute("aria-pressed", String(now));
    part("sound-said").textContent = now ? "on" : "off";
  });
  for (const form of place.querySelectorAll("[data-press], [data-send]")) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      send(form);
    });
  }
};

// The space bar is the knuckle: anywhere but in a field or on another button.
document.addEventListener("keydown", (event) => {
  if (event.key !== " " || event.repeat || event.target.closest("input, select, textarea, button, summary, a")) return;
  const press = part("press");
  if (!press) return;
  event.preventDefault();
  press.requestSubmit();
});

const stay = async () => {
  if (document.visibilityState !== "visible") return;
  try {
    awake = await navigator.wakeLock?.request("screen");
  } catch {
    awake = null; // The screen may go dark; the program's clock does not.
  }
};
document.addEventListener("visibilitychange", () => {
  stay();
  if (document.visibilityState === "visible") ask();
});

prepare();
stay();
await ask();
setInterval(ask, 1000);
setInterval(draw, 200);
