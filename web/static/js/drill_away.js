// A page that is away while one listens or counts: after ten seconds the item is
// void. It may have been put aside, or the telephone has gone to sleep.

const longest = 10000; // milliseconds
const look = 2000;

let watching = null;

/** Calls slept() once where this item's page was away for too long. */
export function away(el, slept) {
  watching?.abort();
  watching = null;
  if (!el.matches("[data-asked][data-timed]")) return;
  const stop = (watching = new AbortController());
  let gone = document.hidden ? Date.now() : 0;
  let last = Date.now();
  const over = () => {
    stop.abort();
    slept();
  };
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) return void (gone = Date.now());
    if (gone && Date.now() - gone > longest) return over();
    gone = 0;
    last = Date.now();
  }, { signal: stop.signal });
  // A device that sleeps stops its clocks without telling anybody.
  const timer = setInterval(() => {
    const asleep = Date.now() - last - look;
    last = Date.now();
    if (!document.hidden && asleep > longest) over();
  }, look);
  stop.signal.addEventListener("abort", () => clearInterval(timer));
}
