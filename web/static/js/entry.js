// Reads what is typed into a line of the sheet: "104", "26x4", "1.5", "<2", and
// after it the reading: n, l or h ("38.5n"), and how sure: ?, ~ or ! ("38.5n!").

import { unsigned } from "./sure.js";

const readings = { l: "low", n: "normal", h: "high" };

// The units that may be typed, by the vital sign whose figure they stand behind.
const units = { temperature: /^°?[cf]$/, weight: /^(kg|g|lbs?)$/ };

/** {value, over, interpretation, sure} or {wrong: text}; an empty text is {value: ""}. A bare weight is in the given unit. */
export function readEntry(typed, field, first = "kg") {
  const { text: bare, sure } = unsigned(typed);
  const entry = readBare(bare, field, first);
  return sure && entry.value ? { ...entry, sure } : entry;
}

function readBare(text, field, first) {
  text = text.trim().toLowerCase().replaceAll(",", ".").replaceAll("×", "x").replaceAll(/\s+/g, "");
  if (text === "") return { value: "" };
  const m = /^([<>]?)(\d+(?:\.\d+)?)(?:x(\d+))?(kg|lbs?|g|°?[cf])?(l|n|h|low|normal|high)?$/.exec(text);
  if (!m) return { wrong: field.kind === "count" ? "A number a minute, such as 104, or counted 26x4." : "A number, such as " + (field.kind === "score" ? "5." : "38.5.") };
  const [, sign, number, times, unit, reading] = m;
  const entry = { value: sign && field.kind === "time" ? sign + number : number };
  if (unit && !units[field.vital]?.test(unit)) return { wrong: "The unit does not fit here; write the number alone." };
  if (unit) entry.value += " " + unit;
  else if (field.vital === "weight" && first !== "kg") entry.value += " " + first;
  if (sign && field.kind !== "time") return { wrong: "A number alone, without < or >." };
  if (times) {
    if (field.kind !== "count") return { wrong: "Only what is counted is multiplied." };
    if (60 % Number(times)) return { wrong: "Counted for a part of a minute: x2, x3, x4 or x6." };
    entry.value = String(Number(number) * Number(times));
    entry.over = 60 / Number(times);
  }
  if (reading) {
    if (!field.vital) return { wrong: "Only a vital sign is read as low, normal or high." };
    entry.interpretation = readings[reading[0]];
  }
  return entry;
}
