// [data-pick]: searches the list of problems. [data-draft]: keeps what is
// written in the browser until it is sent.

for (const host of document.querySelectorAll("[data-pick]")) {
  const box = host.querySelector("[data-pick-search]");
  const search = box.querySelector("input");
  const note = host.querySelector("[data-pick-count]");
  const rows = [...host.querySelectorAll("label[data-words]")];
  box.hidden = false;
  const show = () => {
    const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    let n = 0;
    for (const row of rows) {
      const fits = words.every((w) => row.dataset.words.includes(w)) || (row.querySelector("input").checked && words.length > 0);
      row.hidden = !fits;
      n += fits;
    }
    const chosen = rows.filter((r) => r.querySelector("input").checked).length;
    note.textContent = `${n} of ${rows.length} shown, ${chosen} chosen`;
  };
  search.addEventListener("input", show);
  search.addEventListener("keydown", (e) => e.key === "Enter" && e.preventDefault());
  host.addEventListener("change", show);
  show();
}

for (const form of document.querySelectorAll("[data-draft]")) {
  const name = form.dataset.draft;
  const fields = () => [...form.elements].filter((el) => el.name && el.type !== "hidden" && el.type !== "submit");
  const id = (el) => (el.type === "checkbox" || el.type === "radio" ? `${el.name}=${el.value}` : el.name);
  const value = (el) => (el.type === "checkbox" || el.type === "radio" ? el.checked : el.value);
  const blank = fields().every((el) => (el.type === "checkbox" || el.type === "radio" ? !el.checked : !el.value));
  if (blank) {
    const kept = JSON.parse(localStorage.getItem(name) || "{}");
    for (const el of fields()) {
      if (!(id(el) in kept)) continue;
      if (el.type === "checkbox" || el.type === "radio") el.checked = kept[id(el)];
      else el.value = kept[id(el)];
    }
    for (const host of form.querySelectorAll("[data-pick]")) host.dispatchEvent(new Event("change"));
  }
  form.addEventListener("input", () => localStorage.setItem(name, JSON.stringify(Object.fromEntries(fields().map((el) => [id(el), value(el)])))));
}
