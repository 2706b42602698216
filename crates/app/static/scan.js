// Hands a chosen picture to the program, and lets the corners of strip, wedge and border be dragged, or moved with the
// arrow keys. The corners are the fields of the form below the picture; the picture never leaves this machine.

for (const form of document.querySelectorAll("form[data-picture]")) {
  const chosen = form.querySelector("input");
  const said = form.querySelector("[data-said]");
  chosen.addEventListener("change", async () => {
    const file = chosen.files[0];
    if (!file) return;
    if (file.size > form.dataset.most) {
      const mega = (bytes) => Math.round(bytes / 1048576);
      said.textContent = `The file has ${mega(file.size)} MB; at most ${mega(form.dataset.most)} MB are taken in. Cut the picture to strip and wedge, scan at a lower resolution, or save it compressed.`;
      return;
    }
    said.textContent = "Taking it in …";
    try {
      const query = new URLSearchParams({ name: file.name });
      const response = await fetch(`${form.dataset.picture}?${query}`, { method: "POST", body: file });
      if (response.ok) {
        location.assign(response.url);
        return;
      }
      const page = new DOMParser().parseFromString(await response.text(), "text/html");
      const parts = [...page.querySelectorAll(".refused dd")].map((part) => part.textContent);
      said.textContent = parts.length ? parts.join(". ") : "The picture was refused.";
    } catch {
      said.textContent = "The picture was not taken in: it is too large, or the program has ended.";
    }
  });
}

for (const picture of document.querySelectorAll("svg[data-scan]")) {
  const form = document.querySelector("form[data-corners]");
  const { width, height } = picture.viewBox.baseVal;
  const inside = (value, most) => Math.min(most, Math.max(0, value));
  for (const quad of picture.querySelectorAll("[data-quad]")) {
    const field = form.elements[quad.dataset.quad];
    const corners = [...quad.querySelectorAll("[data-corner]")];
    const read = () => field.value.trim().replaceAll(",", ".").split(/\s+/).map(Number);
    const draw = () => {
      const n = read();
      if (n.length !== 8 || n.some((v) => !Number.isFinite(v))) return;
      const places = [0, 1, 2, 3].map((i) => [n[2 * i], n[2 * i + 1]]);
      quad.querySelector("polygon").setAttribute("points", places.map((p) => p.join(",")).join(" "));
      corners.forEach((corner, i) => corner.setAttribute("transform", `translate(${places[i].join(" ")})`));
    };
    const put = (i, x, y) => {
      const n = read();
      n[2 * i] = Math.round(inside(x, width));
      n[2 * i + 1] = Math.round(inside(y, height));
      field.value = n.join(" ");
      draw();
    };
    corners.forEach((corner, i) => {
      corner.setAttribute("tabindex", "0");
      corner.setAttribute("role", "button");
      corner.addEventListener("pointerdown", (event) => {
        corner.setPointerCapture(event.pointerId);
        event.preventDefault();
        corner.focus();
      });
      corner.addEventListener("pointermove", (event) => {
        if (!corner.hasPointerCapture(event.pointerId)) return;
        const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
        put(i, at.x, at.y);
      });
      corner.addEventListener("keydown", (event) => {
        const step = event.shiftKey ? 20 : 2;
        const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
        if (!by) return;
        const n = read();
        put(i, n[2 * i] + by[0], n[2 * i + 1] + by[1]);
        event.preventDefault();
      });
    });
    field.addEventListener("input", draw);
    draw();
  }
  // Corners 1 with 2 and 4 with 3: the first patch becomes the last.
  for (const button of document.querySelectorAll("button[data-turn]")) {
    button.hidden = false;
    button.addEventListener("click", () => {
      const field = form.elements[button.dataset.turn];
      const n = field.value.trim().split(/\s+/);
      if (n.length !== 8) return;
      field.value = [2, 3, 0, 1, 6, 7, 4, 5].map((i) => n[i]).join(" ");
      field.dispatchEvent(new Event("input"));
    });
  }
  const show = (name, shown) => {
    for (const part of [picture.querySelector(`[data-quad="${name}"]`), document.querySelector(`[data-key="${name}"]`)]) {
      part.toggleAttribute("hidden", !shown);
    }
  };
  const border = form.querySelector('input[type="checkbox"][name="with_border"]');
  border.addEventListener("change", () => show("border", border.checked));
  const wedge = form.elements.wedge_is;
  const choose = () => {
    show("wedge", wedge.value !== "none");
    for (const part of form.querySelectorAll("[data-when]")) part.hidden = part.dataset.when !== wedge.value;
  };
  wedge.addEventListener("change", choose);
  choose();
}
