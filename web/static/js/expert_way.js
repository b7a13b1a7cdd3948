// The way over the animal that an expert has gone so far.

/** The way over the animal as far as it is gone, with a ring where the expert is. */
export function wayOver(host) {
  const svg = host.querySelector("svg.animal");
  const line = svg?.querySelector("[data-route]");
  if (!line) return () => {};
  const points = line.getAttribute("points").split(" ").filter(Boolean);
  const dots = [...svg.querySelectorAll("circle.spot")];
  const here = document.createElementNS("http://www.w3.org/2000/svg", "circle");
  here.setAttribute("class", "here");
  here.setAttribute("r", "15");
  svg.append(here);
  return (legs) => {
    const gone = points.slice(0, legs);
    line.setAttribute("points", gone.join(" "));
    for (const dot of dots) dot.toggleAttribute("hidden", !gone.includes(`${dot.getAttribute("cx")},${dot.getAttribute("cy")}`));
    here.toggleAttribute("hidden", legs === 0);
    const [x, y] = (gone.at(-1) || "0,0").split(",");
    here.setAttribute("cx", x);
    here.setAttribute("cy", y);
  };
}
