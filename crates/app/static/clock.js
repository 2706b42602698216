// Keeps run clocks moving between two askings of the program, calls out what to do in every tank, and sends presses.
// The program's clock holds: a page that slept, was reloaded, or opened on another device shows the same. Where there is
// no sound or speech the same is said by vibration and in words.

import { Caller, WORDS, around } from "./calls.js";

const place = document.querySelector("[data-clock]");
const part = (name) => place.querySelector(`[data-${name}]`);
const mss = (seconds) => {
  const whole = Math.round(Math.abs(seconds));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
};
const left = (seconds) => (seconds < -0.5 ? "+" : "") + mss(seconds);
// Text is set only when it differs: what is announced is announced once.
const write = (node, text) => {
  if (node && node.textContent !== text) node.textContent = text;
};
// Each call its own figure of tones: up for movement, down for rest, thrice for pouring out, long for the end.
const END = [[880, 0.7]];
const TONES = {
  agitate: [[520, 0.12], [780, 0.16]],
  rest: [[780, 0.12], [520, 0.16]],
  "pour-out": [[660, 0.14], [660, 0.14], [660, 0.14]],
  next: END,
  over: [...END, ...END],
  later: [[520, 0.1], [520, 0.1]],
};
const SHAKES = {
  agitate: [80, 60, 160], rest: [160], "pour-out": [120, 80, 120, 80, 120], next: [700], over: [700, 200, 700], later: [80, 60, 80],
};
// So long the call of another tank stays to be read, in seconds.
const ELSEWHERE_S = 8;
// A press so soon after the last one ended, or after another button came under the finger, is the same knuckle twice.
const BOUNCE_MS = 1500;
// So far, in milliseconds, the two clocks of a device part only when it slept.
const SLEPT_MS = 2000;

let known = null; // the program's last answer
let heard = 0; // performance.now() when it was true
let heardByWall = 0; // and Date.now()
let silent = 0; // askings in a row that got no answer
let asking = null; // the asking under way
let sending = false;
let doubtful = null; // a press whose answer was lost: its request, its kind, whether the program was heard of it since
let settled = -BOUNCE_MS; // performance.now() when the last press ended, or the buttons changed
let elsewhereUntil = 0;
let saidUntil = 0; // a call that the step's own words would not keep is written till then
const callers = new Map(); // one for each run
const shown = new Map(); // parts of the page as the program wrote them

const own = (one) =>
  one.step.elapsed_s + (one.step.pause === "out" ? 0 : ((performance.now() - heard) / 1000) * one.pace);

// --- Sound: tones and speech once a person has touched the page, which is when a browser allows them.

let sound = null;
let silenced = false; // where the browser keeps nothing, for as long as the page is open
let touched = false;
// A browser may refuse to keep anything for a page; then it asks anew at every visit.
const wanted = () => {
  try {
    return localStorage.getItem("clock-sound") !== "off";
  } catch {
    return !silenced;
  }
};
const want = (on) => {
  silenced = !on;
  try {
    localStorage.setItem("clock-sound", on ? "on" : "off");
  } catch {
    // `silenced` holds it.
  }
};
const canShake = typeof navigator.vibrate === "function";
const canSound = Boolean(window.AudioContext);
const speech = window.SpeechSynthesisUtterance ? window.speechSynthesis : undefined;
// A browser may know how to speak and have no voice to do it with.
const canSpeak = () => (speech?.getVoices().length ?? 0) > 0;
const sounding = () => wanted() && (canSound ? sound?.state === "running" : touched && canSpeak());

const tellSound = () => {
  const button = part("sound");
  const able = canSound || canSpeak();
  button.hidden = !able;
  button.setAttribute("aria-pressed", String(sounding()));
  const ways = [canSound && "tones", canSpeak() && "speech", canShake && "vibration where the device has it"];
  const without = canShake && touched ? "vibration where the device has it, and words" : "words only";
  write(
    part("sound-said"),
    !able
      ? `No sound to be had here: ${without}.`
      : !wanted()
        ? `Off: ${without}.`
        : sounding()
          ? `On: ${ways.filter(Boolean).join(", ")}.`
          : `Touch the page for sound; till then ${without}.`,
  );
};
speech?.addEventListener?.("voiceschanged", tellSound);

const listen = async () => {
  if (!touched) {
    touched = true;
    // Some browsers let a page speak only once it did so under a finger.
    if (wanted()) speech?.speak(new SpeechSynthesisUtterance(""));
  }
  if (canSound && wanted()) {
    sound ??= new AudioContext();
    sound.onstatechange = tellSound;
    await sound.resume().catch(() => {});
  }
  tellSound();
};

const play = (what, words) => {
  if (canShake && (navigator.userActivation?.hasBeenActive ?? touched)) navigator.vibrate(SHAKES[what]);
  if (!wanted()) return;
  if (sound?.state === "running") tones(what);
  if (speech && touched) {
    speech.cancel();
    speech.speak(new SpeechSynthesisUtterance(words));
  }
};

const tones = (what) => {
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
};

// What keeps a person from being called, where it must be seen: above the time, while a bath is in.
const warning = () => {
  if (!known?.step) return "";
  const said = [];
  if (wanted() && !sounding() && (canSound || canSpeak())) said.push("Tap once for sound.");
  if (document.visibilityState === "visible" && (awake === null || awake?.released))
    said.push("The screen may go dark: then nothing is called.");
  return said.join(" ");
};

// --- What is to be seen.

const words = (what, one) => WORDS[what] + ((what === "next" || what === "over") && one.next ? `: ${one.next}` : "");

const then = (step, t) => {
  const next = step.pause === "out" ? null : around(step, t).then;
  return next ? `${WORDS[next.what]} in ${mss(next.at_s - t)}` : "";
};

const now = (one, t) => {
  if (one.step.pause === "out") return "The bath is out: the time stands still.";
  const what = around(one.step, t).now;
  return what ? words(what, one) : "Calls are silent; the film is still in its bath.";
};

// The call due in one tank, made out of all that are due at once by whoever asks.
const due = (one, t) => {
  if (!callers.has(one.run)) callers.set(one.run, new Caller());
  return callers.get(one.run).due(one.step, t, one.pace);
};

const drawOwn = () => {
  const t = own(known);
  const { step } = known;
  const over = step.ends_s - t < -0.5;
  const digits = left(step.ends_s - t);
  const big = part("left");
  write(big, digits);
  big.dataset.long = digits.length;
  big.classList.toggle("over", over);
  big.classList.toggle("stands", step.pause === "out");
  const wide = step.margin_s < 99.5 ? `${Math.round(step.margin_s)} s` : mss(step.margin_s);
  const margin = step.margin_s >= 0.5 ? ` ± ${wide}` : "";
  write(part("ends"), `${mss(t)} in, ${mss(step.ends_s)} in all${margin}${step.bath}`);
  write(part("why"), step.why ?? "");
  write(part("doing"), over && step.develops && step.pause !== "out" ? `${mss(step.ends_s - t)} too long: it goes on developing` : then(step, t));
  const what = due(known, t);
  // These say what the words of the step do not: whoever hears nothing reads them.
  if (what === "over" || what === "later") {
    const late = what === "over" ? `${mss(step.ends_s - t)} too long. ` : "";
    write(part("calling"), late + words(what, known));
    saidUntil = performance.now() + ELSEWHERE_S * 1000;
  } else if (what || step.pause === "out" || saidUntil < performance.now()) {
    saidUntil = 0;
    write(part("calling"), now(known, t));
  }
  return what && { what, words: words(what, known) };
};

const drawOther = (one) => {
  const t = own(one);
  const row = place.querySelector(`[data-other="${one.run}"]`);
  write(row?.querySelector("[data-much]"), left(one.step.ends_s - t));
  write(row?.querySelector("[data-then]"), `${now(one, t)} ${then(one.step, t)}`);
  const what = due(one, t);
  return what && { what, words: `${one.name}: ${words(what, one)}` };
};

const draw = () => {
  if (!known) return;
  write(part("warning"), warning());
  const mine = known.step && drawOwn();
  if (!known.step) {
    saidUntil = 0;
    write(part("calling"), "");
    write(part("doing"), "");
  }
  const theirs = known.others.filter((one) => one.step).map(drawOther).filter(Boolean);
  if (theirs.length) {
    write(part("elsewhere"), theirs.map((call) => call.words).join(". "));
    elsewhereUntil = performance.now() + ELSEWHERE_S * 1000;
  } else if (elsewhereUntil < performance.now()) {
    write(part("elsewhere"), "");
  }
  const all = [mine, ...theirs].filter(Boolean);
  if (all.length) play(all[0].what, all.map((call) => call.words).join(". "));
};

// --- What the program says.

// Where a browser cannot break off an asking, it is waited for.
const within = (ms) => AbortSignal.timeout?.(ms);

const markup = (node) => node.innerHTML.replace(/name="request" value="[^"]*"/g, "");

// Parts that only change when something happened come from the page itself, so that they are written once; one that is
// the same is left alone, with what is typed in it.
const refresh = async () => {
  const response = await fetch(location.pathname, { headers: { accept: "text/html" }, signal: within(5000) });
  if (!response.ok) throw new Error(response.statusText);
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const fresh = page.querySelector("[data-clock]");
  if (!fresh) return;
  place.dataset.phase = fresh.dataset.phase;
  for (const next of fresh.querySelectorAll("[data-part]")) {
    const old = place.querySelector(`[data-part="${next.dataset.part}"]`);
    if (shown.get(next.dataset.part) === markup(next)) continue;
    shown.set(next.dataset.part, markup(next));
    swap(old, next);
  }
};

const swap = (old, next) => {
  if (next.dataset.part === "press") settled = performance.now();
  const focus = old.contains(document.activeElement) ? document.activeElement : null;
  const byOops = focus?.closest("[data-send-within]");
  const typed = [...old.querySelectorAll("input[id], select[id]")].map((field) => [field.id, field.value]);
  const open = [...old.querySelectorAll("details[open]")].map((one) => one.id);
  old.replaceChildren(...next.childNodes);
  const byId = (id) => id && old.querySelector(`#${CSS.escape(id)}`);
  for (const [id, value] of typed) if (byId(id)) byId(id).value = value;
  for (const id of open) byId(id)?.setAttribute("open", "");
  // After Oops the big button does not lie under a finger on its way to it again.
  if (focus && !byOops) (byId(focus.id) || part("first") || place.querySelector(".huge"))?.focus({ preventScroll: true });
};

const shape = (state) =>
  JSON.stringify([state.phase, state.press, state.by_the_wall, state.step?.place, state.others.map((o) => [o.run, o.step?.place])]);

const askOnce = async () => {
  const sent = performance.now();
  const doubt = doubtful;
  try {
    const address = place.dataset.clock + (doubt ? `?request=${encodeURIComponent(doubt.request)}` : "");
    const response = await fetch(address, { cache: "no-store", signal: within(5000) });
    if (!response.ok) throw new Error(response.statusText);
    const state = await response.json();
    const answered = performance.now();
    const changed = known && shape(known) !== shape(state);
    // The page and its figures change together: while the page is not to be had, both stay and are asked for again.
    if (changed) await refresh();
    known = state;
    heard = (sent + answered) / 2;
    heardByWall = Date.now() - (answered - heard);
    silent = 0;
    write(part("offline"), "");
    if (doubt && doubt === doubtful) settle(state.recorded, changed);
  } catch {
    silent += 1;
    if (silent >= 2) write(part("offline"), `The program does not answer. ${alone()} Nothing you press is recorded until it is back.`);
  }
  draw();
};

// What the time on the screen is worth while the program is out of reach.
const alone = () => {
  if (!known) return "This clock stands still until it is back.";
  const slept = Date.now() - heardByWall - (performance.now() - heard);
  if (slept > SLEPT_MS) return "This device slept meanwhile: there is less time left than is shown.";
  return "This clock goes on by itself.";
};

const ask = () =>
  (asking ??= askOnce().finally(() => {
    asking = null;
  }));

const refuse = (text) => {
  const refused = part("refused");
  refused.hidden = !text;
  write(refused, text);
};

const newRequest = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");

// What was recorded is not asked for again under the same name: the next press from this form is another one. The form
// may have been written anew meanwhile, with what was typed in it and a name of its own.
const recorded = (request, kind) => {
  for (const field of place.querySelectorAll("input[name=request]")) {
    const { form } = field;
    if (field.value !== request && !(form.matches("[data-send]") && form.elements.kind?.value === kind)) continue;
    field.value = newRequest();
    form.reset();
  }
};

// A press whose answer was lost. Not recorded, it keeps its name: should it arrive after all, pressed again it counts once.
const LOST = "The program does not answer. Whether that was recorded is said here once it does.";
const settle = (was, moved) => {
  doubtful.answered = true;
  if (was) {
    recorded(doubtful.request, doubtful.kind);
    doubtful = null;
    refuse("That press was recorded; only the answer was lost.");
  } else if (moved) {
    refuse("Nothing was recorded, and the run has gone on meanwhile: look before you press.");
  } else if (part("refused").hidden || part("refused").textContent === LOST) {
    refuse("The program did not answer: nothing was recorded. Press again.");
  }
};

const saidBy = async (response) => {
  if (response.headers.get("content-type")?.includes("json")) return response.json();
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  return { refused: [...page.querySelectorAll(".refused h2, .refused dd")].map((said) => said.textContent).join(". ") };
};

// What the program asked about is meant when it is sent once more within a few seconds.
const SURE_MS = 8000;
const sureNow = (form) => {
  // A reading is meant only if it is the same again.
  const value = form.elements.value?.value ?? "yes";
  const sure = Object.assign(document.createElement("input"), { type: "hidden", name: "sure", value });
  form.append(sure);
  setTimeout(() => {
    if (sure.isConnected) refuse("");
    sure.remove();
  }, SURE_MS);
};

const send = async (form, button) => {
  if (sending) return;
  // What became of the last press comes first; pressed again under its own name it counts once.
  if (doubtful && !doubtful.answered && form.elements.request?.value !== doubtful.request) {
    refuse(LOST);
    ask();
    return;
  }
  sending = true;
  form.setAttribute("aria-busy", "true");
  const body = new URLSearchParams(new FormData(form, button));
  const focused = form.contains(document.activeElement);
  const oops = form.matches("[data-send-within] *");
  let done = false;
  doubtful = null;
  try {
    const response = await fetch(form.getAttribute("action"), {
      method: "POST",
      headers: { accept: "application/json" },
      body,
      signal: within(8000),
    });
    if (response.ok) {
      done = true;
      refuse("");
      recorded(body.get("request"), body.get("kind"));
    } else {
      const { refused, again } = await saidBy(response);
      refuse(refused || "It was refused.");
      if (again) sureNow(form);
    }
  } catch {
    doubtful = { request: body.get("request"), kind: body.get("kind") };
    refuse(LOST);
  }
  // An asking under way may have been answered before this was recorded.
  await asking;
  await ask();
  // The space bar is for the big button again, not for the field just left.
  if (done && focused && !oops) (part("first") ?? place.querySelector(".huge"))?.focus({ preventScroll: true });
  if (done) scrollTo(0, 0);
  form.removeAttribute("aria-busy");
  settled = performance.now();
  sending = false;
};

// --- Hands.

const bounces = () => performance.now() - settled < BOUNCE_MS;

place.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("[data-press], [data-send], [data-send-within] *")) return;
  event.preventDefault();
  if (bounces()) return;
  send(form, event.submitter);
});
// Where the last press leaves a way on instead of a button.
place.addEventListener("click", (event) => {
  if (event.target.closest("a.huge") && bounces()) event.preventDefault();
});

part("sound").addEventListener("click", (event) => {
  event.stopPropagation();
  // The space bar stays the knuckle after a finger was here; who came by keyboard stays.
  if (event.detail) event.currentTarget.blur();
  if (sounding()) {
    want(false);
    speech?.cancel();
    sound?.suspend();
  } else {
    want(true);
    listen();
  }
  tellSound();
});
document.addEventListener("click", listen);

// The space bar is the knuckle: anywhere but in a field or on another control. A key held down presses once.
document.addEventListener("keydown", (event) => {
  if (event.repeat && event.target.closest("[data-press]")) event.preventDefault();
  if (event.key !== " " || event.repeat || event.target.closest("input, select, textarea, button, summary, a")) return;
  const press = part("press");
  if (!press) return;
  event.preventDefault();
  listen();
  press.requestSubmit();
});

let awake; // null where the screen may go dark; the program's clock does not
const stay = async () => {
  if (document.visibilityState !== "visible" || (awake && !awake.released)) return;
  try {
    awake = (await navigator.wakeLock?.request("screen")) ?? null;
  } catch {
    awake = null;
  }
};
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible") return;
  stay();
  // A telephone call or the lock may have put the sound to rest.
  if (sound) listen();
  ask();
});

for (const one of place.querySelectorAll("[data-part]")) shown.set(one.dataset.part, markup(one));
tellSound();
stay();
await ask();
setInterval(ask, 1000);
setInterval(draw, 200);
