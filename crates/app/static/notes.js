// Keeps what is noted of a frame until the program has it: each note is first put by on this phone, then sent; out of
// reach of the program it waits, and is sent when a page of the roll is open and the program answers again. A note
// carries a key, so that it is one note however often it is sent. Offers words that were used lately as buttons.
// Without it the form is sent as any other.

const KEPT = "spoolwright.notes";
const PAGES = "spoolwright-rolls";
// Rolls whose pages are kept on the phone, the newest ones.
const MOST_PAGES = 24;
// So long the program may take to answer, in milliseconds.
const PATIENCE_MS = 8000;
// What no field of a note is.
const BESIDES = ["request", "seen", "help", "then", "same", "key", "base", "factor"];
const REPEATED = ["subject", "place", "aperture", "shutter", "lens", "filter", "ei", "meter_ev", "shape"];

const read = () => {
  try {
    const all = JSON.parse(localStorage.getItem(KEPT) ?? "[]");
    return Array.isArray(all) ? all : [];
  } catch {
    return [];
  }
};
const write = (all) => localStorage.setItem(KEPT, JSON.stringify(all));
const newKey = () => {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
};
const make = (tag, text, attributes = {}) => {
  const node = document.createElement(tag);
  if (text) node.textContent = text;
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  return node;
};

// --- Sending.

// "kept", "refused" with what was said, or "away" when no answer of the program came.
const send = async (item) => {
  const body = new URLSearchParams({ ...item.fields, key: item.key, request: item.request, answer: "json" });
  if (item.base) body.set("base", item.base);
  try {
    const answer = await fetch(item.action, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE_MS) });
    if (answer.ok && (answer.headers.get("content-type") ?? "").includes("json")) {
      return { was: "kept", ...(await answer.json()) };
    }
    if ([409, 413, 422].includes(answer.status) && (answer.headers.get("content-type") ?? "").includes("json")) {
      return { was: "refused", ...(await answer.json()) };
    }
    if (answer.status === 404) return { was: "refused", told: "The program knows no such roll or note." };
    return { was: "away" };
  } catch {
    return { was: "away" };
  }
};

let sending = null;
// Sends what waits, in the order it was written. Gives what became of each.
const sendAll = () => {
  sending ??= (async () => {
    const became = new Map();
    for (const { request } of read()) {
      // Read anew each time: another tab sends, too.
      const item = read().find((one) => one.request === request);
      if (!item) continue;
      write(read().map((one) => (one.request === request ? { ...one, tried: true } : one)));
      const answer = await send(item);
      became.set(request, answer);
      if (answer.was === "kept") write(read().filter((one) => one.request !== request));
      if (answer.was === "refused")
        write(read().map((one) => (one.request === request ? { ...one, refused: answer.told } : one)));
      if (answer.was === "away") break;
    }
    return became;
  })().finally(() => {
    sending = null;
    show();
  });
  return sending;
};

// --- What waits, on the page.

const place = document.querySelector("[data-unsent]");
const form = document.querySelector("form[data-note]");
const roll = place?.dataset.unsent ?? form?.dataset.note;

const show = () => {
  if (!place) return;
  const all = read();
  place.replaceChildren();
  place.hidden = all.length === 0;
  if (all.length === 0) return;
  place.append(make("h2", "Kept on this phone, not sent yet"));
  place.append(make("p", "The program has not been reached since. These are sent as soon as it is.", { class: "hint" }));
  const list = make("ul", "", { class: "rows" });
  for (const item of all) {
    const row = make("li");
    const line = make("div", "", { class: "row" });
    const what = make("span", "", { class: "what" });
    what.append(make("span", `${item.roll}, frame ${item.fields.frame || "?"}`, { class: "name" }));
    what.append(make("span", item.refused ? `Refused: ${item.refused}` : item.fields.subject || item.fields.place || "", { class: "more" }));
    line.append(what);
    if (form && item.roll === roll && item.action === form.getAttribute("action")) {
      const change = make("button", "Change", { type: "button" });
      change.addEventListener("click", () => fillFrom(item));
      line.append(change);
    }
    const drop = make("button", "Throw away", { type: "button", class: "quiet" });
    drop.setAttribute("aria-label", `Throw away the note of ${item.roll}, frame ${item.fields.frame}`);
    drop.addEventListener("click", () => {
      if (!confirm("Throw this note away? It was not sent.")) return;
      write(read().filter((one) => one.request !== item.request));
      show();
    });
    line.append(drop);
    row.append(line);
    list.append(row);
  }
  place.append(list);
  const again = make("button", "Send now", { type: "button" });
  again.addEventListener("click", () => sendAll().then(leaveIfSent));
  place.append(again);
};

const leaveIfSent = (became) => {
  // The page shows what the program has once it has it.
  if ([...became.values()].some((answer) => answer.was === "kept") && !form) location.reload();
};

// --- The form.

let changing = null; // the waiting note that is being changed

const values = () => {
  const fields = {};
  for (const [name, value] of new FormData(form)) if (!BESIDES.includes(name)) fields[name] = String(value).trim();
  return fields;
};
const put = (fields) => {
  for (const [name, value] of Object.entries(fields)) {
    const field = form.elements[name];
    if (field && "value" in field) field.value = value;
  }
};
const fillFrom = (item) => {
  changing = item;
  put(item.fields);
  form.scrollIntoView({ block: "start" });
  form.elements.frame.focus();
};
const last = () => {
  const waiting = read().filter((one) => one.roll === roll && !one.of);
  if (waiting.length > 0) return waiting.at(-1).fields;
  const kept = form.querySelector("template[data-last]");
  try {
    return kept ? JSON.parse(kept.content.textContent) : {};
  } catch {
    return {};
  }
};
const say = (text) => {
  const away = document.querySelector("[data-away]");
  if (!away) return;
  away.hidden = !text;
  away.replaceChildren(...(text ? [make("p", text, { role: "status" })] : []));
};
const nowHere = () => {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60000).toISOString().slice(0, 16);
};
// The next frame after all that are known here, those that wait too.
const nextFrame = () => {
  const number = (frame) => Number.parseInt(frame, 10) || 0;
  const waiting = read().filter((one) => one.roll === roll).map((one) => number(one.fields.frame));
  return Math.max(0, ...waiting) + 1;
};

// What a tap on "Same as" repeats: the last of those that wait goes before the last that the program has.
const nameSame = () => {
  const button = form.querySelector("button[name=same]");
  const before = read().filter((one) => one.roll === roll && !one.of).at(-1)?.fields.frame;
  if (!button || !before) return;
  button.textContent = `Same as frame ${before}`;
  if (button.previousElementSibling?.matches(".hint"))
    button.previousElementSibling.textContent = `What stays empty is as in frame ${before}:`;
};

const submitted = async (event) => {
  const button = event.submitter;
  if (button?.name === "help") return;
  event.preventDefault();
  const fields = values();
  if (button?.name === "same") {
    const before = last();
    for (const name of REPEATED) if (!fields[name] && before[name]) fields[name] = before[name];
  }
  const again = changing ?? null;
  changing = null;
  const key = again?.key || form.elements.key.value || newKey();
  const item = {
    key,
    request: `${key}-${newKey()}`,
    roll,
    action: form.getAttribute("action"),
    // Made from what was sent before, or from what the page showed.
    base: again ? (again.tried && !again.refused ? JSON.stringify(again.fields) : again.base) : form.elements.base.value,
    of: form.elements.base.value !== "",
    fields,
  };
  // What was tried may have come in: it stays, and the change follows it.
  const others = read().filter((one) => !again || one.request !== again.request || (again.tried && !again.refused));
  write([...others, item]);
  button?.setAttribute("aria-busy", "true");
  const answer = (await sendAll()).get(item.request);
  button?.removeAttribute("aria-busy");
  if (answer?.was === "kept") {
    const done = answer.entry ? `?done=${answer.entry}` : "";
    location.assign(button?.value === "next" ? `/roll/${roll}/note${done}` : `/roll/${roll}${done}#frames`);
  } else if (answer?.was === "refused") {
    changing = read().find((one) => one.request === item.request) ?? null;
    say(`Refused: ${answer.told}`);
    document.querySelector("[data-away]")?.scrollIntoView({ block: "center" });
  } else {
    say(`Frame ${fields.frame} is kept on this phone: the program is out of reach. It will be sent when it is back.`);
    form.reset();
    form.elements.key.value = "";
    if (!item.of) put({ frame: String(nextFrame()), taken_at: nowHere() });
    nameSame();
    document.querySelector("[data-away]")?.scrollIntoView({ block: "center" });
  }
};

if (form) {
  form.addEventListener("submit", submitted);
  nameSame();
  const waiting = read().some((one) => one.roll === roll && !one.of);
  const known = Number.parseInt(form.elements.frame.value, 10) || 0;
  if (waiting && form.elements.base.value === "") put({ frame: String(Math.max(known, nextFrame())) });
  for (const field of form.querySelectorAll("input[list]")) {
    const words = [...field.list.options].map((option) => option.value);
    const offers = make("ul", "", { class: "offers" });
    for (const word of words) {
      const one = make("li");
      const button = make("button", word, { type: "button" });
      button.addEventListener("click", () => {
        field.value = word;
      });
      one.append(button);
      offers.append(one);
    }
    field.after(offers);
  }
}

// --- The roll's pages kept on the phone, where the browser allows it: only over a connection it trusts.

const keepPages = async () => {
  if (!("caches" in window) || !("serviceWorker" in navigator)) return;
  await navigator.serviceWorker.register(new URL("notes-worker.js", import.meta.url), { scope: "/roll/" });
  const kept = await caches.open(PAGES);
  const parts = [...document.querySelectorAll('link[rel="stylesheet"], link[rel="icon"], script[src]')];
  const pages = [`/roll/${roll}`, `/roll/${roll}/note`];
  for (const address of [...parts.map((part) => part.href ?? part.src), ...parts.map((part) => part.src).filter(Boolean), ...pages]) {
    if (address) await kept.add(address).catch(() => {});
  }
  // The oldest go first.
  const rolls = (await kept.keys()).filter((one) => new URL(one.url).pathname.startsWith("/roll/"));
  for (const old of rolls.slice(0, Math.max(0, rolls.length - 2 * MOST_PAGES))) await kept.delete(old);
};

if (roll) {
  show();
  if (read().length > 0) sendAll().then(leaveIfSent);
  addEventListener("online", () => sendAll().then(leaveIfSent));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && read().length > 0) sendAll().then(leaveIfSent);
  });
  keepPages().catch(() => {});
}
