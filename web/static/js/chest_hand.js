// How the chest piece is moved: by pointer or finger, and by keys.

const step = 0.01, leap = 0.05; // of the arrow keys, alone and with Shift, as shares of the drawing's width
const arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

export function byHand(pad) {
  const { svg, world } = pad;
  let grip = null; // where the piece was taken hold of, from its middle
  const pointed = (e) => {
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(world.getScreenCTM().inverse());
    return { x: p.x + (grip?.x || 0), y: p.y + (grip?.y || 0) };
  };
  svg.addEventListener("pointerdown", (e) => {
    if (e.button !== 0) return;
    e.preventDefault();
    pad.pad.focus({ preventScroll: true });
    svg.setPointerCapture(e.pointerId);
    const p = pointed(e), at = pad.at();
    grip = pad.piece.contains(e.target) ? { x: at.x - p.x, y: at.y - p.y } : { x: 0, y: 0 };
    pad.move(pointed(e));
  });
  svg.addEventListener("pointermove", (e) => { if (grip) pad.move(pointed(e)); });
  svg.addEventListener("pointerup", () => {
    if (!grip) return;
    grip = null;
    pad.put();
  });
  svg.addEventListener("pointercancel", () => { grip = null; });
  pad.pad.addEventListener("keydown", (e) => {
    const arrow = arrows[e.key];
    if (e.ctrlKey || e.metaKey || e.altKey || !(arrow || e.key === "Enter" || e.key === " ")) return;
    e.preventDefault();
    const far = e.shiftKey ? leap : step;
    if (arrow) pad.nudge(arrow[0] * far, arrow[1] * far);
    else if (!e.repeat) pad.put();
  });
  pad.pad.addEventListener("focus", () => pad.tell());
}
