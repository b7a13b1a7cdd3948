// [data-animal]: the drawing. One tab stop; the arrow keys go through the places in
// the order of the route; a tap takes the nearest place.

export function animal(host, room) {
  const svg = host.querySelector("svg");
  const caption = host.querySelector("[data-animal-caption]");
  if (!svg) return;
  const spots = [...svg.querySelectorAll("[data-region]")];
  const route = svg.querySelector("[data-route]");
  const centre = (spot) => {
    const dot = spot.querySelector(".dot");
    return [Number(dot.getAttribute("cx")), Number(dot.getAttribute("cy"))];
  };
  const resting = caption.textContent;
  const name = (spot) => { caption.textContent = spot ? spot.getAttribute("aria-label") : room.region ? room.visit.cat.region(room.region).label : resting; };

  const focus = (i) => {
    const spot = spots[(i + spots.length) % spots.length];
    for (const other of spots) other.setAttribute("tabindex", other === spot ? "0" : "-1");
    spot.focus();
  };
  const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
  svg.addEventListener("keydown", (e) => {
    const i = spots.indexOf(e.target.closest("[data-region]"));
    if (i < 0) return;
    if (step[e.key]) focus(i + step[e.key]);
    else if (e.key === "Home") focus(0);
    else if (e.key === "End") focus(spots.length - 1);
    else if (e.key === "Enter" || e.key === " ") room.go(spots[i].dataset.region);
    else return;
    e.preventDefault();
  });
  svg.addEventListener("focusin", (e) => name(e.target.closest("[data-region]")));
  svg.addEventListener("focusout", () => name(null));

  const nearest = (e) => {
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const far = (spot) => Math.hypot(centre(spot)[0] - p.x, centre(spot)[1] - p.y);
    const spot = spots.reduce((a, b) => (far(b) < far(a) ? b : a));
    return far(spot) < 110 ? spot : null;
  };
  svg.addEventListener("pointermove", (e) => name(nearest(e)));
  svg.addEventListener("pointerleave", () => name(null));
  svg.addEventListener("click", (e) => {
    const spot = nearest(e);
    if (spot) room.go(spot.dataset.region);
  });

  const draw = () => {
    const walked = room.visit.route();
    for (const spot of spots) {
      spot.classList.toggle("seen", walked.includes(spot.dataset.region));
      const chosen = spot.dataset.region === room.region;
      spot.setAttribute("aria-pressed", String(chosen));
      if (chosen) for (const other of spots) other.setAttribute("tabindex", other === spot ? "0" : "-1");
    }
    const at = new Map(spots.map((spot) => [spot.dataset.region, centre(spot)]));
    route.setAttribute("points", walked.filter((r) => at.has(r)).map((r) => at.get(r).join(",")).join(" "));
    name(null);
  };
  room.onChange(draw);
}
