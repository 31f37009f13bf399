// What comes back: dropped when it is older than what is shown, said aloud when it is an error, waited for when nobody answers.

import htmx from "htmx.org";
import { allKept, isEntry, lookAgain, mergeFields, sendAgain } from "./entries";

const NOBODY = "The program does not answer. What you typed is still in its field and is sent again until it does.";

const NOT_KEPT = "A field holds something that is not kept. Correct it, or press Esc in it; then do this again.";

interface Answer {
  xhr: XMLHttpRequest;
  shouldSwap: boolean;
  elt: Element;
  successful?: boolean;
  requestConfig: { verb: string; formData: FormData };
}

const FIELDS = ["entries", "facts"];

function page(): HTMLElement | null {
  return document.querySelector<HTMLElement>("[data-revision]");
}

function detail(event: Event): Answer {
  return (event as CustomEvent<Answer>).detail;
}

function say(text: string): void {
  const place = document.getElementById("notice");
  if (place === null) return;
  const line = document.createElement("p");
  line.className = "says";
  line.textContent = text;
  place.replaceChildren(line);
}

function passOld(event: Event): void {
  const answer = detail(event);
  const shown = Number(page()?.dataset["revision"] ?? 0);
  const revision = Number(answer.xhr.getResponseHeader("X-Revision") ?? shown);
  const ofPlan = answer.xhr.responseURL.endsWith("/plan");
  const typing = document.querySelector(".typing") !== null; // what is being typed has its own look
  if (revision < shown || (ofPlan && typing)) answer.shouldSwap = false;
  else page()?.setAttribute("data-revision", String(revision));
  const mine = answer.requestConfig.verb === "post" ? 1 : 0;
  if (revision > shown + mine && !answer.xhr.responseURL.endsWith("/parts")) refresh(); // somebody else entered something
}

/** The page as it stands; fields in which something is not kept yet stay as they are. */
function refresh(): void {
  void htmx.ajax("get", `/cases/${page()?.dataset["case"] ?? ""}/parts`, { swap: "none" });
}

/** Fields that are the same are not swapped but set: focus, folds and what is being typed stay. */
function mergeSwap(event: Event): void {
  const swap = (event as CustomEvent<{ shouldSwap: boolean; target: Element; fragment: ParentNode }>).detail;
  if (FIELDS.includes(swap.target.id)) swap.shouldSwap = !mergeFields(swap.target, swap.fragment);
}

/** Takes out of the line what was kept of it, and leaves what was typed meanwhile. */
function emptyLine(form: HTMLFormElement, sent: string): void {
  const line = form.querySelector("input");
  if (line === null || !line.value.startsWith(sent)) return;
  line.value = line.value.slice(sent.length).trimStart();
  htmx.trigger(line, "heard-again", {});
}

function afterAnswer(event: Event): void {
  const answer = detail(event);
  const form = answer.elt;
  if (form instanceof HTMLFormElement && form.classList.contains("say") && answer.successful) {
    emptyLine(form, String(answer.requestConfig.formData.get("text") ?? ""));
  }
  if (isEntry(form) && answer.xhr.status >= 400 && form.value !== form.dataset["was"]) {
    form.setAttribute("aria-invalid", "true");
    lookAgain(form); // the numbers are those of an earlier look
  }
}

/** Nothing is made of a tooth, and its page is not left, while a number is on its way or was refused. */
function sendWhenKept(event: SubmitEvent, form: HTMLFormElement): void {
  const button = event.submitter;
  const hides = form.getAttribute("action") === "/lock"; // what is not kept waits in this window
  if (page() === null || hides || form.dataset["kept"] !== undefined) {
    delete form.dataset["kept"];
    button?.setAttribute("aria-busy", "true");
    return;
  }
  event.preventDefault();
  if (button?.hasAttribute("aria-busy")) return; // pressed twice
  button?.setAttribute("aria-busy", "true");
  void allKept().then((kept) => {
    if (!kept) button?.removeAttribute("aria-busy");
    if (!kept) return say(NOT_KEPT);
    form.dataset["kept"] = "";
    form.requestSubmit(button);
  });
}

export function listenForAnswers(): void {
  document.addEventListener("htmx:beforeSwap", passOld);
  document.addEventListener("htmx:oobBeforeSwap", mergeSwap);
  document.addEventListener("htmx:beforeRequest", (event) => {
    const { elt, requestConfig } = detail(event);
    if (elt.matches("form.say") && String(requestConfig.formData.get("text")).trim() === "") event.preventDefault();
  });
  document.addEventListener("htmx:afterRequest", afterAnswer);
  document.addEventListener("htmx:sendError", (event) => {
    const { elt } = detail(event);
    say(NOBODY);
    if (isEntry(elt)) sendAgain(elt);
  });
  document.addEventListener("htmx:configRequest", (event) => {
    const { headers } = (event as CustomEvent<{ headers: Record<string, string> }>).detail;
    headers["X-CSRF"] = document.querySelector<HTMLMetaElement>("meta[name=csrf]")?.content ?? "";
  });
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form instanceof HTMLFormElement && !form.matches("[hx-post]")) sendWhenKept(event, form);
  });
  window.addEventListener("pageshow", () => {
    for (const button of document.querySelectorAll("[aria-busy]")) button.removeAttribute("aria-busy");
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && page() !== null) refresh();
  });
}
