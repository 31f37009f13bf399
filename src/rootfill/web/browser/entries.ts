// A field that is typed in: a first look while typing, kept when left or on Enter, kept later when nobody answers.

import htmx from "htmx.org";

type Field = HTMLInputElement | HTMLSelectElement;

const LOOK_AFTER_MS = 50;
const AGAIN_AFTER_MS = 2000;
let timer: number | undefined;
let looking: AbortController | undefined;
const sending = new Map<Field, string>();
const again = new Set<string>();
const pending = new Set<Promise<void>>();

function fieldOf(target: EventTarget | null): Field | null {
  const is = target instanceof HTMLInputElement || target instanceof HTMLSelectElement;
  return is && target.dataset["at"] !== undefined ? target : null;
}

function byPlace(at: string): Field | null {
  return document.querySelector<Field>(`[data-at="${CSS.escape(at)}"]`);
}

function caseNumber(): string {
  return document.querySelector<HTMLElement>("[data-case]")?.dataset["case"] ?? "";
}

function token(): string {
  return document.querySelector<HTMLMetaElement>("meta[name=csrf]")?.content ?? "";
}

/** Shows what the number would change; the answer is dropped when something newer was typed or kept. */
async function look(field: Field): Promise<void> {
  looking?.abort();
  looking = new AbortController();
  const body = new URLSearchParams({ at: field.dataset["at"] ?? "", text: field.value });
  try {
    const answer = await fetch(`/cases/${caseNumber()}/look`, {
      method: "POST",
      body,
      headers: { "X-CSRF": token(), "HX-Request": "true" },
      signal: looking.signal,
    });
    if (answer.status !== 200 || field.value === field.dataset["was"]) return;
    htmx.swap("body", await answer.text(), { swapStyle: "none", swapDelay: 0, settleDelay: 0 });
  } catch {
    return; // a look that did not come back shows nothing; keeping says what is wrong
  }
}

function keep(field: Field): void {
  window.clearTimeout(timer);
  looking?.abort();
  if (field.value === field.dataset["was"] && !field.classList.contains("waiting")) return leave(field);
  const at = field.dataset["at"] ?? "";
  if (sending.get(field) === field.value) return; // Enter and leaving the field say the same thing
  if (sending.has(field)) return void again.add(at); // it follows when its predecessor is kept
  sending.set(field, field.value);
  const values = { at, was: field.dataset["was"] ?? "", text: field.value };
  const sent = htmx.ajax("post", `/cases/${caseNumber()}/cell`, { source: field, swap: "none", values });
  pending.add(sent);
  void sent.finally(() => {
    sending.delete(field);
    pending.delete(sent);
    const now = again.delete(at) ? byPlace(at) : null;
    if (now !== null) keep(now);
  });
}

/** Waits for what is on its way; false while a field holds something that was not kept. */
export async function allKept(): Promise<boolean> {
  await new Promise((go) => window.setTimeout(go)); // a form that is just being sent cannot be sent once more
  while (pending.size > 0) await Promise.allSettled(pending);
  return document.querySelector("[data-at].typing, [data-at].waiting, [data-at][aria-invalid]") === null;
}

/** Nothing new was typed in the end: show again what is kept. */
function leave(field: Field): void {
  const looked = field.classList.contains("typing");
  settle(field);
  if (looked) void htmx.ajax("get", `/cases/${caseNumber()}/parts`, { swap: "none" });
}

function settle(field: Field): void {
  field.classList.remove("typing", "waiting");
  field.removeAttribute("aria-invalid");
}

/** Nobody answered: the text stays in its field and is sent again until somebody does. */
export function sendAgain(field: Field): void {
  field.classList.add("waiting");
  window.setTimeout(() => {
    const now = byPlace(field.dataset["at"] ?? "");
    if (now?.classList.contains("waiting")) keep(now);
  }, AGAIN_AFTER_MS);
}

/** Shows the numbers of what stands in a field that was refused: those that are kept. */
export function lookAgain(field: Field): void {
  if (field.dataset["at"]?.startsWith("canal/")) void look(field);
}

function isOpen(field: Field): boolean {
  if (field === document.activeElement) return true; // no number changes under the eyes of who is about to type
  return field.value !== field.dataset["was"] || field.matches(".typing, .waiting, [aria-invalid]");
}

/** Sets the fields shown to what has come; true where no more is to do, false where other fields have come.
 *
 * What is not kept yet stays in its field, and what its writer saw there: so that nobody's number is passed over. */
export function mergeFields(shown: Element, come: ParentNode): boolean {
  const fields = [...come.querySelectorAll<Field>("[data-at]")];
  const places = (all: Iterable<Field>): string => [...all].map((one) => `${one.dataset["at"]} ${one.ariaLabel}`).join();
  const same = places(fields) === places(shown.querySelectorAll<Field>("[data-at]"));
  for (const one of fields) {
    const here = byPlace(one.dataset["at"] ?? "");
    if (here === null || here === one) continue;
    const [from, to] = isOpen(here) ? [here, one] : [one, here];
    if (to === here && !same) continue;
    to.value = from.value;
    to.dataset["was"] = from.dataset["was"] ?? "";
    to.title = from.title;
    if (from !== here) continue;
    to.className = from.className;
    if (from.hasAttribute("aria-invalid")) to.setAttribute("aria-invalid", "true");
  }
  return same;
}

export function isEntry(element: EventTarget | null): element is Field {
  return fieldOf(element) !== null;
}

export function listenForEntries(): void {
  document.addEventListener("input", (event) => {
    const field = fieldOf(event.target);
    field?.classList.add("typing");
    if (!(field instanceof HTMLInputElement)) return;
    window.clearTimeout(timer);
    if (field.dataset["at"]?.startsWith("canal/")) timer = window.setTimeout(() => void look(field), LOOK_AFTER_MS);
  });
  document.addEventListener("change", (event) => {
    const field = fieldOf(event.target);
    if (field !== null) keep(field);
  });
  document.addEventListener("focusout", (event) => {
    const field = fieldOf(event.target); // what was given back after unlocking is no change to the browser
    if (field?.matches(".typing:not([aria-invalid])")) keep(field);
  });
  window.addEventListener("pageshow", () => {
    for (const field of document.querySelectorAll<Field>("[data-at]:not(.typing)")) {
      field.value = field.dataset["was"] ?? ""; // browsers put back what stood here when the page was left
    }
  });
  document.addEventListener("keydown", (event) => {
    const field = fieldOf(event.target);
    if (field === null || event.isComposing) return;
    if (event.key === "Enter" && field instanceof HTMLInputElement) keep(field);
    if (event.key === "Escape" && (field.value !== field.dataset["was"] || field.hasAttribute("aria-invalid"))) {
      field.value = field.dataset["was"] ?? "";
      leave(field);
    }
  });
  document.addEventListener("kept", (event) => {
    const { at, typed, text } = (event as CustomEvent<{ at: string; typed: string; text: string }>).detail;
    const field = byPlace(at);
    if (field === null) return;
    field.dataset["was"] = text;
    field.title = text;
    if (field.value === typed || !field.matches(".typing")) { // taken back while it was on its way: too late
      field.value = text;
      settle(field);
    }
  });
  document.addEventListener("theirs", (event) => {
    const { at, text } = (event as CustomEvent<{ at: string; text: string }>).detail;
    const field = byPlace(at);
    if (field === null) return;
    field.dataset["was"] = text; // whoever enters it again has read what stands there
    field.setAttribute("aria-invalid", "true");
  });
}
