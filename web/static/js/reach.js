// What lies under a chest piece on the drawing of the trunk: the nearest place with
// how loud it is there, and what a finger feels. Nothing but geometry, in the
// drawing's own units.

const farthest = 200; // thousandths of the drawing's width: from here on nothing is heard of a place, even where no other is near (derived)
const faintest = 0.05; // a sound below this is not told from none (derived)

/**
 * The place that is heard at a point, {site, nearness}, or null. Nearness is 1 at
 * the place itself and falls as (1 - t²)², without a kink at either end, to 0 where
 * the next place is as near or where the place is out of reach (derived).
 */
export function heard(point, spots, width) {
  const [one, two] = spots.map((s) => ({ site: s.site, far: Math.hypot(s.x - point.x, s.y - point.y) })).sort((a, b) => a.far - b.far);
  if (!one) return null;
  const reach = Math.min(two ? two.far : Infinity, (width * farthest) / 1000);
  const t = Math.min(1, one.far / reach);
  const nearness = (1 - t * t) ** 2;
  return nearness < faintest ? null : { site: one.site, nearness };
}

const rows = 7; // heights that can be chosen without the drawing
const nth = ["upper", "middle", "lower"];

/** The ribs of a drawing, and what is felt and found by them. */
export class Ribs {
  constructor(svg) {
    this.body = svg.querySelector("[data-body]");
    this.probe = svg.createSVGPoint();
    this.lines = [...svg.querySelectorAll("[data-rib]")].sort((a, b) => a.dataset.rib - b.dataset.rib).map(sampled);
    const { x, y, width, height } = svg.viewBox.baseVal;
    this.top = Math.min(...this.lines.map((l) => l[0].y));
    this.low = y + height; // the belly, half way between the limbs
    while (this.low > this.top && !this.holds({ x: x + width * 0.62, y: this.low })) this.low -= 2;
  }
  holds(point) {
    Object.assign(this.probe, point);
    return this.body.isPointInFill(this.probe);
  }
  /** How many ribs are in front of a point. */
  before(point) { return this.lines.filter((line) => at(line, point.y) < point.x).length; }

  /** What is under a point, in the words of one who feels: no place is named. */
  felt(point) {
    if (!this.holds(point)) return "Off the animal.";
    const n = this.before(point), share = (point.y - this.top) / (this.low - this.top);
    const height = share < 0 ? "on the back" : `${nth[Math.min(2, Math.floor(share * 3))]} third`;
    const between = n === 0 ? "In front of the ribs" : n === this.lines.length ? "Behind the last rib" : `Between ribs ${n} and ${n + 1}`;
    return `${between}, ${height}.`;
  }

  /** The columns and rows by which a point can be chosen in words: [label, …]. */
  columns() {
    return [...this.lines.slice(1).map((_, i) => `between ribs ${i + 1} and ${i + 2}`), "just behind the last rib", "in the flank"];
  }
  heights() {
    const ends = { 1: ", at the back", 4: ", half way", 7: ", at the breastbone or belly" };
    return Array.from({ length: rows }, (_, i) => `${i + 1} of ${rows}${ends[i + 1] || ""}`);
  }
  point(column, row) {
    const y = this.top + ((row + 0.5) * (this.low - this.top)) / rows;
    const n = this.lines.length, last = at(this.lines[n - 1], y), gap = (last - at(this.lines[0], y)) / (n - 1);
    if (column >= n - 1) return { x: last + gap * (column === n - 1 ? 1 : 3), y };
    return { x: (at(this.lines[column], y) + at(this.lines[column + 1], y)) / 2, y };
  }
}

const points = 24;
function sampled(path) {
  const length = path.getTotalLength();
  return Array.from({ length: points + 1 }, (_, i) => path.getPointAtLength((length * i) / points));
}

/** Where a rib is at a height; above and below it, where it ends. */
function at(line, y) {
  const i = line.findIndex((p) => p.y >= y);
  if (i < 0) return line.at(-1).x;
  if (i === 0) return line[0].x;
  const a = line[i - 1], b = line[i];
  return a.x + ((y - a.y) * (b.x - a.x)) / (b.y - a.y || 1);
}
