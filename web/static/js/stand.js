// [data-stand]: where one stands. The first touch brings one to the animal.

export function stand(el, room) {
  room.onChange(() => {
    const text = room.visit.near() ? "At the animal" : "Across the room";
    if (el.textContent !== text) el.textContent = text;
  });
}
