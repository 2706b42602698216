// Lets time and speed follow the contrast aimed at while it is chosen or a slider is moved: the form is sent as it
// would be by its button, but only the parts that change are fetched. Without it the button asks for the page again.

for (const form of document.querySelectorAll("form[data-target]")) {
  const { target, measure, contrast } = form.elements;
  const place = form.querySelector("[data-slider]");
  const slider = place.querySelector("input");
  const partOf = (name) => document.querySelector(`[data-part="${name}"]`);
  const named = new Map([...target.options].map((option) => [option.value, option.dataset]));
  place.hidden = false;
  for (const plain of form.querySelectorAll("[data-plain]")) plain.hidden = true;

  let busy = false;
  let again = false;
  const ask = async () => {
    again = busy;
    if (busy) return;
    busy = true;
    const query = new URLSearchParams(new FormData(form));
    try {
      const response = await fetch(`${form.dataset.target}?${query}`);
      const part = new DOMParser().parseFromString(await response.text(), "text/html");
      // What is refused here is told, but the cursor stays at the slider.
      for (const told of part.querySelectorAll("[autofocus]")) told.removeAttribute("autofocus");
      const parts = part.querySelectorAll("[data-part]");
      for (const said of parts) partOf(said.dataset.part).replaceChildren(...said.childNodes);
      // A refusal comes as a page.
      if (parts.length === 0) partOf("ground").replaceChildren(...part.querySelector("main").childNodes);
      history.replaceState(null, "", `?${query}`);
    } catch {
      // The program is gone or busy: what is shown stays.
    }
    busy = false;
    if (again) ask();
  };

  const own = () => {
    target.value = "own";
    for (const source of form.querySelectorAll("[data-source]")) source.hidden = true;
  };
  slider.addEventListener("input", () => {
    own();
    contrast.value = Number(slider.value).toFixed(2);
    ask();
  });
  contrast.addEventListener("input", () => {
    own();
    slider.value = contrast.value.replace(",", ".");
    if (contrast.value.trim() !== "") ask();
  });
  measure.addEventListener("change", () => {
    own();
    // The value in the new measure at the same developing time, where the answer tells it.
    const same = document.querySelector(`[data-same="${measure.value}"]`);
    if (same) contrast.value = same.value;
    slider.value = contrast.value;
    ask();
  });
  target.addEventListener("change", () => {
    const words = named.get(target.value);
    if (words?.measure) {
      measure.value = words.measure;
      contrast.value = words.contrast;
      slider.value = words.contrast;
    }
    for (const source of form.querySelectorAll("[data-source]")) source.hidden = true;
    ask();
  });
}
