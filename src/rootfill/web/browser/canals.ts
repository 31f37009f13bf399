// Canals found in a scan: drawn over the planes, gone through, their ends set where the cross is.

import { Along } from "./along";
import type { PictureView, Point, Sheet } from "./slices";

export interface Canal {
  label: string;
  line: Point[]; // from the end to the orifice
  s: number[]; // distance of each point from the end
  length: number;
  along: string; // where the section along it is, and its size
  rows: number;
  columns: number;
  above: number | null; // how far the end set by hand lies above the one suggested
  narrow: number[]; // half widths, voxels along x
  wide: number[];
  unseen: number; // so many points from the end are carried on, not seen
  end: Point | null; // set by hand
}

const NEAR = 3; // slices
const NO_ANSWER = "The program did not answer. Try it once more.";

class Canals {
  private canals: Canal[] = [];
  private held = 0;
  private ticking: number | undefined;
  private readonly along: Along;

  constructor(private readonly view: PictureView) {
    this.along = new Along(view.bits, view.greys, (point) => view.move(point));
    view.overlay(() => this.along.draw());
    view.overlay((pen, sheet) => this.canals.forEach((canal, i) => draw(pen, sheet, canal, i === this.chosen())));
    view.onMove((point) => {
      this.told();
      this.along.mark(point);
    });
    document.addEventListener("htmx:afterSettle", () => this.read());
    document.addEventListener("htmx:beforeRequest", (event) => this.wait(event.target));
    document.addEventListener("htmx:afterRequest", (event) => this.stop(event.target, ""));
    document.addEventListener("htmx:sendError", (event) => this.stop(event.target, NO_ANSWER));
    document.addEventListener("click", (event) => this.click(event), true);
    document.addEventListener("input", (event) => this.change(event.target));
    this.read();
  }

  private get part(): HTMLElement | null {
    return document.getElementById("canals");
  }

  private chosen(): number {
    return Math.min(this.held, Math.max(this.canals.length - 1, 0));
  }

  private read(): void {
    this.canals = JSON.parse(this.part?.dataset["canals"] ?? "[]") as Canal[];
    this.check();
    this.told();
    this.along.show(this.canals[this.chosen()], this.view.point());
    this.view.redraw();
  }

  /** The cross goes along with whatever is sent. */
  private told(): void {
    for (const field of document.querySelectorAll<HTMLInputElement>("[data-cross]")) field.value = this.view.point().join(", ");
    const edge = this.part?.querySelector<HTMLInputElement>("[name=edge]");
    const shown = this.part?.querySelector(".edge-at");
    if (edge && shown) shown.textContent = edge.disabled ? "from the scan’s own greys" : this.view.trueGrey(Number(edge.value));
  }

  /** The canal in hand stays in hand when the list comes anew. */
  private check(): void {
    const radio = this.part?.querySelector<HTMLInputElement>(`input[name=canal][value="${this.chosen()}"]`);
    if (radio) radio.checked = true;
  }

  private choose(number: number): void {
    this.held = number;
    this.check();
    this.along.show(this.canals[this.chosen()], this.view.point());
    this.goToEnd();
  }

  private goToEnd(): void {
    const canal = this.canals[this.chosen()];
    const end = canal?.end ?? canal?.line[0];
    if (end !== undefined) this.view.move(end);
    this.view.redraw();
  }

  private click(event: Event): void {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (button === null || this.part?.contains(button) !== true) return;
    const form = button.closest("form");
    const seed = form?.querySelector<HTMLInputElement>("[name=seed]");
    if (seed) seed.disabled = button.dataset["key"] !== "5";
    if (button.dataset["go"] === "end") this.goToEnd();
    if (button.dataset["go"] === "next") this.choose((this.chosen() + 1) % Math.max(this.canals.length, 1));
    if (button.className === "give-up" && form) form.dispatchEvent(new CustomEvent("htmx:abort", { bubbles: true, detail: { elt: form } }));
  }

  private change(target: EventTarget | null): void {
    if (!(target instanceof HTMLInputElement)) return;
    const edge = this.part?.querySelector<HTMLInputElement>("[name=edge]");
    if (edge && target.hasAttribute("data-sets-edge")) edge.disabled = !target.checked;
    if (target.name === "canal") this.choose(Number(target.value));
    this.told();
  }

  private wait(target: EventTarget | null): void {
    if (!(target instanceof HTMLFormElement) || !target.classList.contains("find")) return;
    const began = Date.now();
    const say = (): void => this.state(target, `Looking for canals, ${Math.round((Date.now() - began) / 1000)} s`);
    target.classList.add("busy");
    say();
    this.ticking = window.setInterval(say, 1000);
  }

  private stop(target: EventTarget | null, says: string): void {
    if (!(target instanceof HTMLFormElement) || !target.classList.contains("find")) return;
    window.clearInterval(this.ticking);
    target.classList.remove("busy");
    this.state(target, says);
  }

  private state(form: HTMLElement, says: string): void {
    const place = form.querySelector(".state");
    if (place !== null) place.textContent = says;
  }

  /** The form of the end belongs to the canal in hand. */
  sendsTo(form: HTMLElement): string {
    return `${form.dataset["ends"] ?? ""}/${this.chosen()}/end`;
  }
}

function tone(name: string): string {
  const place = document.querySelector(".reading");
  return place === null ? "#fff" : getComputedStyle(place).getPropertyValue(name);
}

/** Strong where the canal is near the slice, thin elsewhere; dashed where it is not seen; ends and orifice in words. */
function draw(pen: CanvasRenderingContext2D, sheet: Sheet, canal: Canal, held: boolean): void {
  const near = (i: number): boolean => Math.abs((canal.line[i]?.[sheet.plane.axis] ?? 0) - sheet.slice) <= NEAR;
  pen.strokeStyle = pen.fillStyle = tone(held ? "--compound-line" : "--ink-2");
  pen.font = `13px ${tone("--font")}`;
  canal.line.slice(1).forEach((to, i) => {
    pen.lineWidth = near(i) || near(i + 1) ? 2.5 : 0.75;
    pen.setLineDash(i < canal.unseen ? [4, 4] : []);
    pen.beginPath();
    pen.moveTo(...sheet.at(canal.line[i] ?? to));
    pen.lineTo(...sheet.at(to));
    pen.stroke();
  });
  pen.setLineDash([]);
  around(pen, sheet, canal);
  const [end, orifice] = [canal.line[0], canal.line.at(-1)];
  if (end === undefined || orifice === undefined) return;
  const cut = isCut(canal, sheet);
  const shown = (point: Point): boolean => !cut || Math.abs((point[sheet.plane.axis] ?? 0) - sheet.slice) <= 1;
  const name = cut ? "" : `${canal.label}: `;
  if (shown(end)) mark(pen, sheet, end, near(0) ? 2 : 1, canal.end === null ? (held ? `${name}end suggested` : cut ? "" : canal.label) : held ? "end suggested" : "");
  if (canal.end !== null && shown(canal.end)) mark(pen, sheet, canal.end, 3, `${name}end set by you`);
  if (!shown(orifice)) return;
  const [x, y] = sheet.at(orifice);
  pen.lineWidth = 1.5;
  pen.beginPath();
  pen.arc(x, y, 5, 0, 2 * Math.PI);
  pen.stroke();
  if (held) write(pen, "orifice", x + 9, cut ? y + 9 : y - 5);
}

/** Whether a plane cuts the canal across, not along. */
function isCut(canal: Canal, { plane }: Sheet): boolean {
  const [first, last] = [canal.line[0], canal.line.at(-1)];
  const run = (axis: number): number => Math.abs((first?.[axis] ?? 0) - (last?.[axis] ?? 0));
  return run(plane.axis) >= Math.max(run(plane.across), run(plane.down));
}

/** Narrow and wide way as circles about the canal, where the slice cuts it across. */
function around(pen: CanvasRenderingContext2D, sheet: Sheet, canal: Canal): void {
  const { axis, across } = sheet.plane;
  const away = canal.line.map((point) => Math.abs((point[axis] ?? 0) - sheet.slice));
  const nearest = away.indexOf(Math.min(...away));
  const point = canal.line[nearest];
  if (point === undefined || (away[nearest] ?? NEAR) > 1.5 || !isCut(canal, sheet)) return;
  const unit: Point = [0, 0, 0];
  unit[across] = 1;
  const px = Math.abs(sheet.at(unit)[0] - sheet.at([0, 0, 0])[0]);
  const [x, y] = sheet.at(point);
  pen.lineWidth = 1.5;
  for (const [half, dash] of [[canal.narrow[nearest], []], [canal.wide[nearest], [2, 3]]] as const) {
    pen.setLineDash(nearest < canal.unseen ? [4, 4] : [...dash]);
    pen.beginPath();
    pen.arc(x, y, (half ?? 0) * px, 0, 2 * Math.PI);
    pen.stroke();
  }
  pen.setLineDash([]);
  write(pen, canal.label, x + (canal.wide[nearest] ?? 0) * px + 6, y - 9);
}

function mark(pen: CanvasRenderingContext2D, sheet: Sheet, point: Point, width: number, words: string): void {
  const [x, y] = sheet.at(point);
  pen.lineWidth = width;
  pen.beginPath();
  pen.moveTo(x - 7, y);
  pen.lineTo(x + 7, y);
  pen.stroke();
  write(pen, words, x + 11, y + 4);
}

/** Words on grey are read on a rim of the dark. */
function write(pen: CanvasRenderingContext2D, words: string, x: number, y: number): void {
  pen.save();
  pen.lineWidth = 4;
  pen.lineJoin = "round";
  pen.strokeStyle = tone("--void");
  pen.strokeText(words, x, y);
  pen.restore();
  pen.fillText(words, x, y);
}

/** Canals over the picture of this page, where it is a scan. */
export function showCanals(view: PictureView | undefined): void {
  if (view === undefined || document.getElementById("canals") === null) return;
  const canals = new Canals(view);
  document.addEventListener("htmx:configRequest", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLElement) || form.dataset["ends"] === undefined) return;
    (event as CustomEvent<{ path: string }>).detail.path = canals.sendsTo(form);
  });
}
