// Keeps the ticks of a checklist on this device, so that they survive a reload.
// Without it the boxes still work; they only forget. Nothing is sent anywhere.

for (const list of document.querySelectorAll("[data-ticks]")) {
  const key = `spoolwright-ticks-${list.dataset.ticks}`;
  const boxes = [...list.querySelectorAll("input[type=checkbox]")];
  let kept = [];
  try {
    kept = JSON.parse(localStorage.getItem(key) ?? "[]");
  } catch {
    kept = []; // a private window, or something foreign under our name
  }
  if (!Array.isArray(kept)) kept = [];
  for (const box of boxes) box.checked = box.checked || kept.includes(box.value);
  list.addEventListener("change", () => {
    const ticked = boxes.filter((box) => box.checked).map((box) => box.value);
    try {
      localStorage.setItem(key, JSON.stringify(ticked));
    } catch {
      // storage refused: the boxes still work until the page is left
    }
  });
}
