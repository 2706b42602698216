// Moves the cursor through a grid of densities, so that it can be filled from the number keys alone:
// Enter and the arrows up and down stay in the column, left and right leave a cell at its ends.
// Without it the form works the same, by Tab.

for (const table of document.querySelectorAll("table.grid-in")) {
  const form = table.closest("form");
  const rows = [...table.querySelectorAll("tbody tr")].map((row) => [...row.querySelectorAll("input")]);
  const columns = rows[0]?.length ?? 0;
  const heads = [...(table.tHead?.rows[0]?.cells ?? [])].slice(1);
  const go = (row, column) => {
    const cell = rows[row]?.[column];
    if (!cell) return false;
    cell.focus();
    cell.select();
    return true;
  };
  // From a strip's time down to its first cell.
  const down = (time) => {
    const head = heads.findIndex((cell) => cell.contains(time));
    return head >= 0 && go(0, (head * columns) / heads.length);
  };
  form.addEventListener("keydown", (event) => {
    const cell = event.target;
    if (cell.tagName !== "INPUT" || event.ctrlKey || event.altKey || event.metaKey) return;
    const row = rows.findIndex((cells) => cells.includes(cell));
    const column = row < 0 ? -1 : rows[row].indexOf(cell);
    const whole = cell.selectionStart === 0 && cell.selectionEnd === cell.value.length;
    const atStart = whole || cell.selectionEnd === 0;
    const atEnd = whole || cell.selectionStart === cell.value.length;
    const inGrid = {
      Enter: () => (event.shiftKey ? go(row - 1, column) : go(row + 1, column) || go(0, column + 1)),
      ArrowDown: () => go(row + 1, column),
      ArrowUp: () => go(row - 1, column),
      ArrowLeft: () => atStart && column > 0 && go(row, column - 1),
      ArrowRight: () => atEnd && column + 1 < columns && go(row, column + 1),
    };
    const moves = row < 0 ? { Enter: () => down(cell) } : inGrid;
    const moved = moves[event.key]?.();
    // Enter never sends a half-filled grid; from its last field it goes to the button.
    if (event.key === "Enter" && !moved) form.querySelector("button.main").focus();
    if (moved || event.key === "Enter") event.preventDefault();
  });
}
