// Puts a chosen file's text into the field where a table is pasted. Nothing is sent until the form is.

for (const form of document.querySelectorAll("form[data-table]")) {
  const place = form.querySelector("[data-file]");
  const chosen = place.querySelector("input");
  place.hidden = false;
  chosen.addEventListener("change", async () => {
    const file = chosen.files[0];
    if (!file) return;
    if (file.size > 60000) {
      chosen.setCustomValidity("At most 60 kB: the steps and strips of one test.");
      chosen.reportValidity();
      return;
    }
    chosen.setCustomValidity("");
    form.elements.table.value = await file.text();
    form.elements.source.value ||= file.name;
  });
}
