// Makes elements. Texts become text nodes, never markup: what people wrote is data.

/** h("button", {class: "main", onclick: f, "aria-pressed": "true"}, "Text", child) */
export function h(tag, props = {}, ...kids) {
  const el = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) el.addEventListener(name.slice(2), value);
    else if (name === "value") el.value = value;
    else el.setAttribute(name, value === true ? "" : value);
  }
  el.append(...kids.flat().filter((kid) => kid !== null && kid !== undefined && kid !== false));
  return el;
}

/** Puts these children in place of those that el has. */
export function fill(el, ...kids) {
  el.replaceChildren(...kids.flat().filter((kid) => kid !== null && kid !== undefined && kid !== false));
}

/** m:ss */
export function clock(seconds) {
  return `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
}

/** "1 act", "3 acts" */
export function count(n, one, many = one + "s") {
  return `${n} ${n === 1 ? one : many}`;
}

/** Capital letter first. */
export function capital(text) {
  return text ? text[0].toUpperCase() + text.slice(1) : text;
}

let made = 0;
/** An id that no other element has. */
export function fresh(prefix) {
  return `${prefix}-${++made}`;
}
