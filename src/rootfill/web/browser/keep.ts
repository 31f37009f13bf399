// Keeping a picture: too large is said before anything is sent, how much has arrived while it is, and it can be given up.

import htmx from "htmx.org";

const LOST = "The picture did not arrive, and nothing of it was kept. Keep it once more.";

function put(form: Element, text: string): void {
  const place = form.querySelector("output");
  if (place !== null) place.textContent = text;
}

function refuse(text: string): void {
  const line = document.createElement("p");
  line.className = "says";
  line.textContent = text;
  document.getElementById("notice")?.replaceChildren(line);
}

/** What is wrong with the files that were chosen; undefined where nothing is. */
function wrong(form: HTMLFormElement): string | undefined {
  const files = [...(form.querySelector<HTMLInputElement>("input[type=file]")?.files ?? [])];
  if (files.length === 0) return "No file is chosen yet. Choose the file, the files or the zip of one picture.";
  const size = files.reduce((sum, file) => sum + file.size, 0);
  const most = Number(form.dataset["largest"]);
  const shown = (bytes: number): string => `${(bytes / 2 ** 30).toFixed(1)} GiB`;
  return size > most ? `These files have ${shown(size)}; at most ${shown(most)} are taken. Cut the scan to the teeth.` : undefined;
}

function busy(form: HTMLElement, is: boolean): void {
  form.classList.toggle("busy", is);
  if (!is) put(form, "");
}

export function listenForPictures(): void {
  const form = document.querySelector<HTMLFormElement>("form[data-largest]");
  if (form === null) return;
  form.addEventListener("htmx:beforeRequest", (event) => {
    const says = wrong(form);
    if (says === undefined) return busy(form, true);
    event.preventDefault();
    refuse(says);
  });
  form.addEventListener("htmx:xhr:progress", (event) => {
    const { loaded, total } = (event as CustomEvent<{ loaded: number; total: number }>).detail;
    if (!form.classList.contains("busy")) return;
    put(form, loaded < total ? `${Math.floor((100 * loaded) / total)} % has arrived` : "All has arrived; it is being read.");
  });
  form.addEventListener("htmx:afterRequest", () => busy(form, false));
  document.addEventListener("htmx:sendError", (event) => {
    if (event.target === form) refuse(LOST);
  });
  form.querySelector("button[type=button]")?.addEventListener("click", () => htmx.trigger(form, "htmx:abort", {}));
}
