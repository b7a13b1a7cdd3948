// Talks to /api/v1. A dropped connection rejects; every answer of the server resolves.

const patience = 20000; // milliseconds until a silent server counts as a dropped connection

async function call(method, path, body) {
  const answer = await fetch("/api/v1" + path, {
    method,
    headers: body === undefined ? { Accept: "application/json" } : { Accept: "application/json", "Content-Type": "application/json" },
    body: body === undefined ? undefined : JSON.stringify(body),
    credentials: "same-origin",
    cache: "no-store",
    signal: AbortSignal.timeout(patience),
  });
  const text = await answer.text();
  let value = {};
  try {
    value = text ? JSON.parse(text) : {};
  } catch {
    value = { title: "The answer cannot be read" };
  }
  return { ok: answer.ok, status: answer.status, body: value };
}

export const read = (path) => call("GET", path);
export const send = (path, body) => call("POST", path, body);

/** What a problem says, for people. */
export function told(problem) {
  const parts = [problem.detail || problem.title || "It was refused."];
  for (const e of problem.errors || []) parts.push(e.detail);
  return [...new Set(parts)].join(" ");
}
