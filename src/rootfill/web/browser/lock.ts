// Nobody at the keyboard: what is on the screen is hidden. What was typed and not yet kept waits in this window for the unlocking.

const STASH = "typed";
type Field = HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;

function typedFields(): Field[] {
  return [...document.querySelectorAll<Field>("main input:not([type=hidden]):not([type=password]), main select, main textarea")];
}

function isChanged(field: Field): boolean {
  if (field instanceof HTMLSelectElement) return field.value !== (field.dataset["was"] ?? field.value);
  if (field instanceof HTMLInputElement && field.type !== "text") return field.checked !== field.defaultChecked;
  return field.value !== field.defaultValue;
}

/** A field is found again by its id, or by its name and how many of that name stand before it. */
function placeOf(field: Field): string {
  if (field.id !== "") return `#${field.id}`;
  return `${field.name} ${typedFields().filter((one) => one.name === field.name).indexOf(field)}`;
}

function stash(): void {
  const typed = typedFields().filter(isChanged).map((field) => [placeOf(field), field.value]);
  if (typed.length > 0) sessionStorage.setItem(STASH, JSON.stringify({ path: location.pathname, typed }));
}

function restore(): void {
  const kept = sessionStorage.getItem(STASH);
  sessionStorage.removeItem(STASH);
  if (kept === null || !document.referrer.startsWith(`${location.origin}/locked`)) return;
  const { path, typed } = JSON.parse(kept) as { path: string; typed: [string, string][] };
  if (path !== location.pathname) return;
  const fields = new Map(typedFields().map((field) => [placeOf(field), field]));
  for (const [place, text] of typed) {
    const field = fields.get(place);
    if (field === undefined) continue;
    field.value = text;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

async function hide(): Promise<void> {
  stash();
  const token = document.querySelector<HTMLMetaElement>("meta[name=csrf]")?.content ?? "";
  await fetch("/lock", { method: "POST", headers: { "X-CSRF": token, "HX-Request": "true" } }).catch(() => undefined);
  location.assign(`/locked?back=${encodeURIComponent(location.pathname)}`);
}

export function lockWhenIdle(): void {
  const minutes = Number(document.body.dataset["idleMinutes"] ?? 0);
  if (!(minutes > 0)) return; // nobody is signed in here, or it is locked already
  let timer = 0;
  const wait = (): void => {
    window.clearTimeout(timer);
    timer = window.setTimeout(() => void hide(), minutes * 60_000);
  };
  for (const sign of ["keydown", "pointerdown", "pointermove"]) document.addEventListener(sign, wait, { passive: true });
  window.addEventListener("pagehide", stash);
  restore();
  wait();
}
