// What the pages do more with a script: progress that follows by itself, files dropped on the page,
// a hole redrawn as it is typed. Without it every page and form works, a step at a time.
"use strict";

// Follow a load or a refit: ask its JSON until it has ended, then show the page's own words.
function follow(box) {
  const ask = async () => {
    try {
      const told = await (await fetch(box.dataset.follow)).json();
      if (told.running) {
        (told.files || []).forEach((file, place) => {
          const state = box.querySelectorAll(".state")[place];
          if (state) state.textContent = file.words + (file.done ? "" : " …");
        });
        setTimeout(ask, 300);
      } else {
        location.reload();
      }
    } catch {
      setTimeout(ask, 2000);
    }
  };
  ask();
}

// Files dropped anywhere on a page with the form go into its field.
function takeDrops(form) {
  const field = form.querySelector("input[type=file]");
  const mark = on => form.classList.toggle("dropping", on);
  addEventListener("dragover", event => { event.preventDefault(); mark(true); });
  addEventListener("dragleave", () => mark(false));
  addEventListener("drop", event => {
    event.preventDefault();
    mark(false);
    if (event.dataTransfer.files.length) {
      field.files = event.dataTransfer.files;
      form.requestSubmit();
    }
  });
}

// Draw a hole anew a moment after the last key.
function drawAsTyped(form) {
  const drawing = document.getElementById("drawing");
  let waiting = 0;
  const draw = async () => {
    const asked = new URLSearchParams(new FormData(form));
    const answer = await fetch("/hole/drawing?" + asked);
    if (answer.ok) drawing.innerHTML = await answer.text();
  };
  form.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(draw, 250); });
}

// On a phone the sections of a long page are folded to their headings; on paper all are open.
function fold(page) {
  const folded = [...page.querySelectorAll(":scope > section")].map(section => {
    const details = document.createElement("details");
    const summary = document.createElement("summary");
    summary.append(section.querySelector("h2"));
    details.append(summary, ...section.childNodes);
    section.append(details);
    return details;
  });
  addEventListener("beforeprint", () => folded.forEach(one => { one.open = true; }));
  document.querySelectorAll("nav a[href^='#']").forEach(link => link.addEventListener("click", () => {
    const details = document.querySelector(link.hash + " > details");
    if (details) details.open = true;
  }));
}

// The page that is shown now is in sight in a strip that scrolls.
document.querySelector(".strip [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
document.querySelectorAll("[data-follow]").forEach(follow);
document.querySelectorAll("#drop").forEach(takeDrops);
document.querySelectorAll("form[data-draws]").forEach(drawAsTyped);
if (matchMedia("(max-width: 40rem)").matches) document.querySelectorAll("[data-folds]").forEach(fold);
document.querySelectorAll("[data-print]").forEach(button => {
  button.hidden = false;
  button.addEventListener("click", () => print());
});
