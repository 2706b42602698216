// Which call of a step is due: each once, none lost and none said twice when a reading moves the step's end.
// It knows no page and no clock: whoever asks says how far the step is, in the step's own seconds.

export const WORDS = {
  agitate: "Agitate",
  rest: "Let it stand",
  "pour-out": "Pour out",
  next: "Time is up",
  over: "Time is up",
  later: "Not yet: the end has moved",
};
// A call to move the tank that many seconds of life old was slept through: it is not made up for. Calls to pour out are.
const STALE_S = 4;
// An end that moves on by less than this, in the step's own seconds, after its call is the same end.
const MOVED_S = 2;
// How often, in seconds of life, a developer that is in too long is called out again.
const AGAIN_S = 15;

// These are called though a person silenced the calls: the film must come out all the same.
const LAST = ["pour-out", "next"];

export class Caller {
  #place = null;
  #moves = 0; // movement was called up to this second
  #told = new Set(); // which of the last calls were made
  #again = 0;

  // The newest call due at second `t` of the step, or null.
  due(step, t, pace = 1) {
    if (this.#place !== step.place) {
      this.#place = step.place;
      // A step found in its middle, after a reload, is not called from its beginning.
      this.#moves = t < STALE_S * pace ? -1 : t;
      this.#told = new Set();
    }
    if (step.pause === "out") {
      this.#moves = Math.max(this.#moves, t);
      return null;
    }
    let newest = null;
    for (const call of step.calls) {
      if (step.pause || LAST.includes(call.what)) continue;
      if (this.#moves < call.at_s && call.at_s <= t && (t - call.at_s) / pace < STALE_S) newest = call.what;
    }
    this.#moves = Math.max(this.#moves, t);
    for (const what of LAST) {
      const call = step.calls.find((c) => c.what === what);
      if (!call) continue;
      if (call.at_s <= t && !this.#told.has(what)) {
        this.#told.add(what);
        this.#again = t;
        newest = what;
      } else if (t + MOVED_S < call.at_s && this.#told.delete(what)) {
        newest = "later";
      }
    }
    if (newest === null && this.#told.has("next") && step.develops && AGAIN_S * pace <= t - this.#again) {
      this.#again = t;
      newest = "over";
    }
    return newest;
  }
}

// What hands should be doing at second `t`, and what comes then; no doing while calls are silent.
export const around = (step, t) => {
  let now = null;
  let then = null;
  for (const call of step.calls) {
    if (step.pause && !LAST.includes(call.what)) continue;
    if (call.at_s <= t) now = call;
    else then ??= call;
  }
  return { now: now?.what ?? (step.pause ? null : "rest"), then };
};
