// [data-tabs]: tabs by the usual keys.

export function tabs(host, onShow) {
  const all = [...host.querySelectorAll("[role=tab]")];
  const panel = (tab) => document.getElementById(tab.getAttribute("aria-controls"));
  const show = (tab, focus = false) => {
    for (const other of all) {
      const on = other === tab;
      other.setAttribute("aria-selected", String(on));
      other.tabIndex = on ? 0 : -1;
      panel(other).hidden = !on;
    }
    if (focus) tab.focus();
    onShow(tab.id);
  };
  host.addEventListener("click", (e) => {
    const tab = e.target.closest("[role=tab]");
    if (tab) show(tab);
  });
  host.addEventListener("keydown", (e) => {
    const i = all.indexOf(e.target.closest("[role=tab]"));
    const to = { ArrowRight: i + 1, ArrowLeft: i - 1, Home: 0, End: all.length - 1 }[e.key];
    if (i < 0 || to === undefined) return;
    e.preventDefault();
    show(all[(to + all.length) % all.length], true);
  });
  return (id) => show(document.getElementById(id));
}
