// A field that is typed in: a first look while typing, kept when left or on Enter, kept later when nobody answers.

import htmx from "htmx.org";

type Field = HTMLInputElement | HTMLSelectElement;

const LOOK_AFTER_MS = 50;
const AGAIN_AFTER_MS = 2000;
let timer: number | undefined;
let looking: AbortController | undefined;
const sending = new Map<Field, string>();
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
  if (sending.get(field) === field.value) return; // Enter and leaving the field say the same thing
  sending.set(field, field.value);
  const values = { at: field.dataset["at"] ?? "", was: field.dataset["was"] ?? "", text: field.value };
  const sent = htmx.ajax("post", `/cases/${caseNumber()}/cell`, { source: field, swap: "none", values });
  pending.add(sent);
  void sent.finally(() => {
    sending.delete(field);
    pending.delete(sent);
  });
}

/** Waits for what is on its way; false while a field holds something that was not kept. */
export async function allKept(): Promise<boolean> {
  await Promise.allSettled(pending);
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
    if (field.isConnected) keep(field);
  }, AGAIN_AFTER_MS);
}

export function isEntry(element: EventTarget | null): element is Field {
  return fieldOf(element) !== null;
}

export function listenForEntries(): void {
  document.addEventListener("input", (event) => {
    const field = fieldOf(event.target);
    if (!(field instanceof HTMLInputElement)) return;
    field.classList.add("typing");
    window.clearTimeout(timer);
    if (field.dataset["at"]?.startsWith("canal/")) timer = window.setTimeout(() => void look(field), LOOK_AFTER_MS);
  });
  document.addEventListener("change", (event) => {
    const field = fieldOf(event.target);
    if (field !== null) keep(field);
  });
  document.addEventListener("keydown", (event) => {
    const field = fieldOf(event.target);
    if (field === null || !(field instanceof HTMLInputElement)) return;
    if (event.key === "Enter") keep(field);
    if (event.key === "Escape" && field.value !== field.dataset["was"]) {
      field.value = field.dataset["was"] ?? "";
      leave(field);
    }
  });
  document.addEventListener("kept", (event) => {
    const { at, typed, text } = (event as CustomEvent<{ at: string; typed: string; text: string }>).detail;
    const field = byPlace(at);
    if (field === null) return;
    field.dataset["was"] = text;
    if (field.value === typed) {
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
