// One key, one button: the button that carries the key is pressed. While a text is being typed, keys are letters.

const TYPED = "input:not([type=radio]):not([type=checkbox]):not([type=range]), textarea, select";

/** Whether a key pressed here belongs to the text and not to the page. */
function isTyping(target: EventTarget | null): boolean {
  return target instanceof Element && target.matches(TYPED);
}

/** In an empty call-out line the key that takes back still works, unless a name begins with it. */
function takesBack(target: EventTarget | null, key: string): boolean {
  const names = [...document.querySelectorAll("#heads h2")].map((name) => name.textContent.trim().toLowerCase());
  const empty = target instanceof HTMLInputElement && target.id === "say" && target.value === "";
  return empty && key === "u" && !target.hasAttribute("data-named-u") && !names.some((name) => name.startsWith("u"));
}

/** A picture that is still being drawn would be missing on the paper. */
async function printWhenDrawn(): Promise<void> {
  const now = await fetch(location.href).then((answer) => answer.text()).catch(() => undefined);
  const holds = document.querySelector(".card:not(.stale)") !== null;
  if (holds && now !== undefined && !now.includes('class="card"')) return location.reload(); // out of date by now
  await Promise.all([...document.images].map((image) => image.decode().catch(() => undefined)));
  window.print();
}

function press(key: string, again: boolean): boolean {
  const found = document.querySelector<HTMLElement>(`[data-key="${CSS.escape(key)}"]`);
  if (found === null || (again && !found.hasAttribute("data-repeats"))) return false;
  if (found instanceof HTMLInputElement && found.type !== "file") {
    found.focus();
    found.select();
  } else {
    found.click();
  }
  return true;
}

/** The first number to be entered: the first field of the sheet that is still empty, else the first. */
function enterNumbers(): boolean {
  const fields = [...document.querySelectorAll<HTMLInputElement>("#entries input[data-at]")];
  const field = fields.find((one) => one.value === "") ?? fields[0];
  field?.focus();
  return field !== undefined;
}

function leave(target: EventTarget | null): void {
  if (target instanceof HTMLInputElement && target.id === "say" && target.value !== "") {
    target.value = "";
    target.dispatchEvent(new Event("input", { bubbles: true }));
  } else if (target instanceof HTMLElement) {
    target.blur();
  }
}

export function listenForKeys(): void {
  document.addEventListener("keydown", (event) => {
    if (event.repeat && event.key === "Enter") event.preventDefault(); // a key held down says a thing once
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
    const key = event.key.toLowerCase();
    if (key === "escape" && !event.repeat) leave(event.target);
    if (isTyping(event.target) && !takesBack(event.target, key)) return;
    if (press(key, event.repeat) || (key === "e" && !event.repeat && enterNumbers())) event.preventDefault();
  });
  document.addEventListener("click", (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (button?.dataset["key"] === "p") void printWhenDrawn();
  });
}
