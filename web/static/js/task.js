// [data-task]: asks how far something in the background is, and loads the page
// anew when it has ended. [data-most]: says at once that a file is too large.
// [data-print]: prints.

const host = document.querySelector("[data-task]");

async function look() {
  const text = host.querySelector("[data-task-text]");
  try {
    const answer = await fetch(host.dataset.task, { headers: { Accept: "application/json" }, cache: "no-store" });
    if (answer.ok) {
      const is = await answer.json();
      if (is.state !== "running") return location.reload();
      text.textContent = `${is.done} of ${is.total} done`;
      host.querySelector("progress").value = is.done;
    }
  } catch {
    text.textContent = "Waiting for the connection.";
  }
  setTimeout(look, 1000);
}
if (host) setTimeout(look, 500);

for (const form of document.querySelectorAll("[data-most]")) {
  const file = form.querySelector("input[type=file]");
  const large = () => [...file.files].some((f) => f.size > Number(form.dataset.most));
  const show = () => {
    form.querySelector("[data-large]").hidden = !large();
    file.toggleAttribute("aria-invalid", false);
    if (large()) file.setAttribute("aria-invalid", "true");
  };
  file.addEventListener("change", show);
  form.addEventListener("submit", (e) => {
    show();
    if (large()) e.preventDefault();
  });
}

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => print());
}
