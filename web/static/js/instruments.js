// The instruments: a small drawing of each, and whether the hand's touch, gentle or
// firm, counts with it. One that has no row has a drawing all the same.

const ns = "http://www.w3.org/2000/svg";

const palm = "M17 42 C17 36 9 31 8 24 C8 21 12 20 14 23 L17 28 V13 C17 9 22 9 22 13 V24 V9 C22 5 27 5 27 9 V24 V11 C27 7 32 7 32 11 V25 V16 C32 12 37 12 37 16 V31 C37 36 34 38 34 42";
const rod = "M20 45 V24 H28 V45 Z";
const rows = {
  "": { label: "Hands and eyes", draw: palm },
  stethoscope: { draw: "M11 5 H8 V15 C8 28 28 28 28 15 V5 H25 M18 25 V32 C18 44 35 44 35 32 V29 M41 23 A6 6 0 1 1 29 23 A6 6 0 1 1 41 23 M37 23 A2 2 0 1 1 33 23 A2 2 0 1 1 37 23", still: true },
  thermometer: { draw: "M6 42 L17 31 M15 29 L33 9 C38 5 43 10 39 15 L19 33 Z M30 14 L34 18 M22 23 L29 15 L33 19 L26 27 Z" },
  penlight: { draw: "M7 41 L25 23 L29 27 L11 45 Z M25 23 L27 17 L35 25 L29 27 M34 13 L38 5 M38 18 L45 13 M38 23 L46 24 M12 36 L16 40" },
  otoscope: { draw: rod + " M17 24 V9 H31 V24 Z M17 11 L5 15 V19 L17 22 M31 13 H35 V20 H31" },
  ophthalmoscope: { draw: rod + " M36 14 A12 10 0 1 1 12 14 A12 10 0 1 1 36 14 M27 14 A3 3 0 1 1 21 14 A3 3 0 1 1 27 14" },
  scales: { draw: "M5 37 H43 V43 H5 Z M24 37 V22 M13 6 H35 V22 H13 Z M18 17 C20 11 28 11 30 17 M24 17 L27 13", still: true },
  "scales or girth tape": { like: "scales" },
  "glove and lubricant": { draw: palm + " M15 45 H36 M41 4 C45 10 45 13 41 13 C37 13 37 10 41 4" },
  "long glove and lubricant": { draw: "M18 45 V26 C12 22 9 18 12 17 L17 21 V9 C17 6 21 6 21 9 V18 V6 C21 3 25 3 25 6 V18 V8 C25 5 29 5 29 8 V19 V12 C29 9 33 9 33 12 V26 L30 30 V45 Z M18 36 H30 M41 6 C45 12 45 15 41 15 C37 15 37 12 41 6" },
  "hoof testers": { draw: "M12 45 L27 22 M36 45 L21 22 M27 22 C38 15 36 5 28 5 M21 22 C10 15 12 5 20 5 M24 21 A2 2 0 1 1 24 25 A2 2 0 1 1 24 21" },
  "gag and headlamp": { draw: "M6 22 C6 8 42 8 42 22 M18 14 H30 V24 H18 Z M16 29 L12 36 M24 29 V38 M32 29 L36 36 M6 22 V27 H10 M42 22 V27 H38" },
  "lit speculum": { draw: "M42 20 H30 L6 28 V32 L30 32 H42 Z M30 20 V32 M36 32 V43 H41 V32 M10 22 L5 18 M16 19 L13 13" },
  "strip cup": { draw: "M9 14 H33 L30 41 H12 Z M10 22 H32 M33 18 H41 V32 H31 M19 5 V9 M24 4 V9" },
};
const other = { draw: "M6 17 H42 V41 H6 Z M17 17 V9 H31 V17 M6 27 H42" };

/** Its name as a label. */
export function named(instrument) {
  const text = rows[instrument]?.label || instrument;
  return text[0].toUpperCase() + text.slice(1);
}

/** As it stands in a sentence: "With the stethoscope". */
export const withIt = (instrument) => (instrument ? `With the ${instrument}` : "With hands and eyes");

/** Whether a touch with it can be gentle or firm. */
export const handled = (instrument) => !row(instrument).still;

function row(instrument) {
  const found = rows[instrument] || other;
  return found.like ? rows[found.like] : found;
}

/** A small line drawing, for the eye only. */
export function drawing(instrument) {
  const svg = document.createElementNS(ns, "svg");
  svg.setAttribute("viewBox", "0 0 48 48");
  svg.setAttribute("class", "instrument");
  svg.setAttribute("aria-hidden", "true");
  const path = document.createElementNS(ns, "path");
  path.setAttribute("d", row(instrument).draw);
  svg.append(path);
  return svg;
}
