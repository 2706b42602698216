// Says how many frames the clicks or the dial's reading give, while they are typed.
// Without it the form works the same; the frames are told once it is saved.

const number = (text) => {
  const plain = text.trim().replace(/[\u2212\u2013]/, "-").replace(",", ".");
  return /^[-+]?\d+(\.\d+)?$/.test(plain) ? Number(plain) : null;
};

for (const form of document.querySelectorAll("[data-frames]")) {
  const [zero, ends, advance, perforations] = form.dataset.frames.split(" ").map(Number);
  const told = form.querySelector("output");
  const typed = (name) => number(form.elements[name]?.value ?? "");
  const tell = () => {
    const dial = typed("dial");
    const clicks = dial === null ? typed("clicks") : dial - zero;
    const count = (n, one) => `${n} ${one}${n === 1 ? "" : "s"}`;
    const frames = Math.max(0, Math.floor(((clicks - ends) * perforations) / advance));
    told.value =
      clicks === null ? "" : `${count(clicks, "click")}: ${count(frames, "frame")}.`;
  };
  form.addEventListener("input", tell);
  tell();
}
