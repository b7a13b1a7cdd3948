// The single keys of a drill: each element with data-key is pressed by it; Enter
// goes on. They can be switched off, as in the examination room.

const name = "dewclaw-keys-off";
const off = () => localStorage.getItem(name) === "1";

/** Lays out the switch of an item. */
export function keys(el) {
  const button = el.querySelector("[data-keys]");
  if (!button) return;
  const state = () => {
    button.textContent = off() ? "Keys are off" : "Keys are on";
    button.setAttribute("aria-pressed", String(!off()));
  };
  button.hidden = false;
  button.addEventListener("click", () => {
    if (off()) localStorage.removeItem(name);
    else localStorage.setItem(name, "1");
    state();
  });
  state();
}

const typing = (el) => el.matches("textarea, select, input:not([type=radio], [type=checkbox], [type=range])");

document.addEventListener("keydown", (e) => {
  const drill = document.querySelector("[data-drill]");
  if (!drill || e.defaultPrevented || e.ctrlKey || e.metaKey || e.altKey || e.repeat || typing(e.target)) return;
  if (e.key === "Enter") {
    if (e.target.closest("a, button, summary, input")) return; // they know themselves what it means
    e.preventDefault();
    return drill.querySelector("[data-enter]")?.click();
  }
  if (off()) return;
  const target = [...drill.querySelectorAll("[data-key]")].find((x) => x.dataset.key === e.key.toLowerCase());
  if (!target) return;
  e.preventDefault();
  target.click();
  if (target.matches("input")) target.focus();
});
