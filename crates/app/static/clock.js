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
// A press so soon after one was taken back is the same knuckle twice.
const BOUNCE_MS = 1500;

let known = null; // the program's last answer
let heard = 0; // performance.now() when it was true
let silent = 0; // askings in a row that got no answer
let asking = null; // the asking under way
let sending = false;
let doubtful = null; // the request of a press whose answer was lost
let takenBack = -BOUNCE_MS; // performance.now() when a press was last taken back
let elsewhereUntil = 0;
const callers = new Map(); // one for each run
const shown = new Map(); // parts of the page as the program wrote them

const own = (one) =>
  one.step.elapsed_s + (one.step.pause === "out" ? 0 : ((performance.now() - heard) / 1000) * one.pace);

// --- Sound: tones and speech once a person has touched the page, which is when a browser allows them.

let sound = null;
const wanted = () => localStorage.getItem("clock-sound") !== "off";
const canShake = typeof navigator.vibrate === "function";
const canSpeak = "speechSynthesis" in window;

const tellSound = () => {
  const button = part("sound");
  const on = sound?.state === "running";
  button.hidden = !window.AudioContext;
  button.setAttribute("aria-pressed", String(wanted() && on));
  const ways = [canSpeak ? "tones and speech" : "tones", canShake && "vibration"].filter(Boolean).join(", ");
  const without = canShake ? "vibration and words" : "words only";
  write(
    part("sound-said"),
    !window.AudioContext
      ? `No sound to be had here: ${without}.`
      : !wanted()
        ? `Off: ${without}.`
        : on
          ? `On: ${ways}.`
          : `Touch the page for sound; till then ${without}.`,
  );
};

const listen = async () => {
  if (!window.AudioContext || !wanted()) return;
  sound ??= new AudioContext();
  sound.onstatechange = tellSound;
  await sound.resume().catch(() => {});
  tellSound();
};

const play = (what, words) => {
  if (canShake && (navigator.userActivation?.hasBeenActive ?? true)) navigator.vibrate(SHAKES[what]);
  if (!wanted() || sound?.state !== "running") return;
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
  if (canSpeak) {
    speechSynthesis.cancel();
    speechSynthesis.speak(new SpeechSynthesisUtterance(words));
  }
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
  const unread = step.develops && step.margin_s > 0 ? ", bath not read yet" : "";
  const read = step.readings.at(-1);
  const bath = read ? ` at ${read.c.toFixed(1)} °C` : unread;
  write(part("ends"), `${mss(t)} in, ${mss(step.ends_s)} in all${margin}${bath}`);
  write(part("why"), step.why ?? "");
  write(part("calling"), now(known, t));
  write(part("doing"), over && step.develops && step.pause !== "out" ? `${mss(step.ends_s - t)} too long: it goes on developing` : then(step, t));
  const what = due(known, t);
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
  const mine = known.step && drawOwn();
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

const markup = (node) => node.innerHTML.replace(/name="request" value="[^"]*"/g, "");

// Parts that only change when something happened come from the page itself, so that they are written once; one that is
// the same is left alone, with what is typed in it.
const refresh = async () => {
  const response = await fetch(location.pathname, { headers: { accept: "text/html" }, signal: AbortSignal.timeout(5000) });
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
    const address = place.dataset.clock + (doubt ? `?request=${encodeURIComponent(doubt)}` : "");
    const response = await fetch(address, { cache: "no-store", signal: AbortSignal.timeout(5000) });
    if (!response.ok) throw new Error(response.statusText);
    const state = await response.json();
    const answered = performance.now();
    const changed = known && shape(known) !== shape(state);
    // The page and its figures change together: while the page is not to be had, both stay and are asked for again.
    if (changed) await refresh();
    known = state;
    heard = (sent + answered) / 2;
    silent = 0;
    write(part("offline"), "");
    if (doubt && doubt === doubtful) settle(state.recorded, changed);
  } catch {
    silent += 1;
    if (silent >= 2)
      write(part("offline"), "The program does not answer. This clock goes on by itself; nothing you press is recorded until it is back.");
  }
  draw();
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

// What was recorded is not asked for again under the same name: the next press from this form is another one.
const recorded = (request) => {
  for (const field of place.querySelectorAll("input[name=request]")) {
    if (field.value !== request) continue;
    field.value = newRequest();
    field.form.reset();
  }
};

// A press whose answer was lost. Not recorded, it keeps its name: should it arrive after all, pressed again it counts once.
const LOST = "The program does not answer. Whether that was recorded is said here once it does.";
const settle = (was, moved) => {
  if (was) {
    recorded(doubtful);
    doubtful = null;
    refuse("That press was recorded; only the answer was lost.");
  } else if (moved) {
    refuse("Nothing was recorded, and the run has gone on meanwhile: look before you press.");
  } else if (part("refused").hidden || part("refused").textContent === LOST) {
    refuse("The program did not answer: nothing was recorded. Press again.");
  }
};

const saidBy = async (response) => {
  if (response.headers.get("content-type")?.includes("json")) return (await response.json()).refused;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  return [...page.querySelectorAll(".refused h2, .refused dd")].map((said) => said.textContent).join(". ");
};

const send = async (form, button) => {
  if (sending) return;
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
      signal: AbortSignal.timeout(8000),
    });
    if (response.ok) {
      done = true;
      refuse("");
      recorded(body.get("request"));
    } else {
      refuse((await saidBy(response)) || "It was refused.");
    }
  } catch {
    doubtful = body.get("request");
    refuse(LOST);
  }
  if (oops) takenBack = performance.now();
  // An asking under way may have been answered before this was recorded.
  await asking;
  await ask();
  // The space bar is for the big button again, not for the field just left.
  if (done && focused && !oops) (part("first") ?? place.querySelector(".huge"))?.focus({ preventScroll: true });
  if (done) scrollTo(0, 0);
  form.removeAttribute("aria-busy");
  sending = false;
};

// --- Hands.

place.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("[data-press], [data-send], [data-send-within] *")) return;
  event.preventDefault();
  if (performance.now() - takenBack < BOUNCE_MS && !form.matches("[data-send]")) return;
  send(form, event.submitter);
});

part("sound").addEventListener("click", (event) => {
  event.stopPropagation();
  // The space bar stays the knuckle after a finger was here; who came by keyboard stays.
  if (event.detail) event.currentTarget.blur();
  if (wanted() && sound?.state === "running") {
    localStorage.setItem("clock-sound", "off");
    sound.suspend();
  } else {
    localStorage.setItem("clock-sound", "on");
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

let awake = null;
const stay = async () => {
  if (document.visibilityState !== "visible" || (awake && !awake.released)) return;
  try {
    awake = await navigator.wakeLock?.request("screen");
  } catch {
    awake = null; // The screen may go dark; the program's clock does not.
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
