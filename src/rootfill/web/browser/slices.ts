// A picture to be looked at: planes with one point in common, size and greys set at once, slices fetched as they are wanted.

import { Greys, Slices } from "./greys";
import { Plate, type Common, type Overlay, type Plane, type Point } from "./plate";
import { drawDepth, roundLength, words } from "./ruler";

export type { Overlay, Point, Sheet } from "./plate";

interface Told {
  slices: string;
  size: number[];
  step: number[];
  unit: string;
  bits: number;
  zero: number;
  gain: number;
  least: number;
  most: number;
  black: number;
  white: number;
  planes: Plane[];
}

const CLOSER = 1.25;
const CLOSEST = 24; // px of a voxel
const SAID_AFTER_MS = 400;

/** What others hang onto: the point, and what they draw over every plane in voxel indices. */
export class PictureView {
  private readonly told: Told;
  private readonly common: Common;
  private readonly slices: Slices;
  private readonly plates: Plate[];
  private readonly moved: ((point: Point) => void)[] = [];
  private held = 0;
  private zoom = 1;
  private waiting = false;
  private repaint = false;
  private saying: number | undefined;

  constructor(private readonly place: HTMLElement) {
    const told = JSON.parse(place.dataset["picture"] ?? "{}") as Told;
    const middle = told.size.map((n) => (n - 1) / 2) as Point;
    this.told = told;
    const greys = new Greys(told.black, told.white, told.bits);
    this.common = { point: middle.map(Math.floor) as Point, centre: middle, scale: [1, 1, 1], greys, overlays: [] };
    this.slices = new Slices(told.slices, told.bits, told.size, () => this.redraw(), (says) => this.say("wrong", says));
    const figures = [...place.querySelectorAll<HTMLElement>("[data-plane]")];
    this.plates = figures.flatMap((figure, i) => {
      const plane = told.planes[i];
      return plane === undefined ? [] : [new Plate(figure, plane, told.size, this.common)];
    });
    this.listen();
    this.hold(this.plates.length - 1);
    new ResizeObserver(() => this.redraw()).observe(place);
  }

  get bits(): number {
    return this.told.bits;
  }

  get greys(): Greys {
    return this.common.greys;
  }

  point(): Point {
    return [...this.common.point];
  }

  move(point: Point): void {
    this.common.point = point.map((p, k) => Math.min(Math.max(Math.round(p), 0), (this.told.size[k] ?? 1) - 1)) as Point;
    for (const { plane } of this.plates) this.slices.get(plane.axis, this.common.point[plane.axis] ?? 0); // asked for at once
    for (const listener of this.moved) listener(this.point());
    this.redraw();
  }

  /** A kept grey as the picture says it. */
  trueGrey(kept: number): string {
    return String(Number((this.told.zero + this.told.gain * kept).toPrecision(4)));
  }

  onMove(listener: (point: Point) => void): void {
    this.moved.push(listener);
  }

  overlay(overlay: Overlay): void {
    this.common.overlays.push(overlay);
    this.redraw();
  }

  redraw(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.draw();
    });
  }

  private draw(): void {
    this.fit();
    const colour = getComputedStyle(this.place).getPropertyValue("--accent");
    for (const plate of this.plates) {
      const slice = this.common.point[plate.plane.axis] ?? 0;
      const pixels = this.slices.get(plate.plane.axis, slice);
      if (pixels !== undefined) plate.load(slice, pixels, this.repaint);
      plate.draw(colour);
    }
    this.repaint = false;
    this.tell();
  }

  /** Px of a voxel along each axis, and the centre moved so that the point is seen. */
  private fit(): void {
    const { size, step } = this.told;
    const long = (axis: number): number => (size[axis] ?? 1) * (step[axis] ?? 1);
    const whole = Math.min(...this.plates.map(({ width, height, plane }) => Math.min(width / long(plane.across), height / long(plane.down))));
    const most = Math.max(CLOSEST / whole / Math.max(...step), 1);
    this.zoom = Math.min(Math.max(this.zoom, 1), most);
    this.common.scale = step.map((one) => one * whole * this.zoom);
    for (const { plane, width, height } of this.plates) {
      this.follow(plane.across, width);
      this.follow(plane.down, height);
    }
  }

  private follow(axis: number, room: number): void {
    const { centre, point, scale } = this.common;
    const half = (0.46 * room) / (scale[axis] ?? 1);
    const [here, there] = [centre[axis] ?? 0, point[axis] ?? 0];
    centre[axis] = Math.min(Math.max(here, there - half), there + half);
  }

  private tell(): void {
    const { point, scale, greys } = this.common;
    const { step, unit, zero, gain, size } = this.told;
    for (const plate of this.plates) {
      const { axis, name } = plate.plane;
      const cut = `${(point[axis] ?? 0) + 1} of ${size[axis] ?? 1}`;
      plate.canvas.setAttribute("aria-label", size[axis] === 1 ? name : `${name}, slice ${cut}`);
      this.put(".cut", size[axis] === 1 ? "" : cut, plate.figure);
    }
    const grey = this.plates.at(-1)?.grey();
    this.put(".grey", grey === undefined ? "" : String(Number((zero + gain * grey).toPrecision(5))));
    this.put(".where", point.slice(0, this.plates.length > 1 ? 3 : 2).join(", "));
    const pxPerUnit = (scale[0] ?? 1) / (step[0] ?? 1);
    const bar = roundLength(pxPerUnit, 180);
    this.put(".long", words(bar, unit));
    const line = this.place.querySelector<HTMLElement>(".bar");
    if (line !== null) line.style.width = `${bar * pxPerUnit}px`;
    this.ramp(greys);
    this.depth(pxPerUnit);
    window.clearTimeout(this.saying);
    this.saying = window.setTimeout(() => this.say("said", this.place.querySelector(".state")?.textContent ?? ""), SAID_AFTER_MS);
  }

  private depth(pxPerUnit: number): void {
    const canvas = this.place.querySelector<HTMLCanvasElement>("canvas.depth");
    const long = this.plates[0];
    if (canvas === null || long === undefined) return;
    const { down, down_sign } = long.plane;
    const last = (this.told.size[down] ?? 1) - 1;
    const first = down_sign > 0 ? 0 : last;
    const top = long.at([first, first, first])[1];
    const step = this.told.step[down] ?? 1;
    const depth = Math.abs((this.common.point[down] ?? 0) - first) * step;
    drawDepth(canvas, top, pxPerUnit, last * step, depth, this.told.unit === "mm" ? 1 : 0);
  }

  private ramp({ black, white }: Greys): void {
    const { least, most, zero, gain } = this.told;
    const share = (grey: number): string => `${(100 * (grey - least)) / (most - least)}%`;
    const ramp = this.place.querySelector<HTMLElement>(".ramp");
    if (ramp !== null) ramp.style.background = `linear-gradient(90deg, #000 ${share(black)}, #fff ${share(white)})`;
    for (const [name, grey] of [["black", black], ["white", white]] as const) {
      const slider = this.place.querySelector<HTMLInputElement>(`input[name=${name}]`);
      if (slider !== null) slider.value = String(grey);
      const shown = String(Number((zero + gain * grey).toPrecision(4)));
      slider?.setAttribute("aria-valuetext", shown);
      this.put(`.${name}-at`, shown);
    }
  }

  private put(where: string, text: string, within: HTMLElement = this.place): void {
    const found = within.querySelector(where);
    if (found !== null && found.textContent !== text) found.textContent = text;
  }

  private say(where: string, text: string): void {
    const found = document.getElementById(where);
    if (found !== null && found.textContent !== text) found.textContent = text;
  }

  private hold(index: number): void {
    this.held = index;
    this.plates.forEach((plate, i) => {
      plate.figure.classList.toggle("held", i === index && this.plates.length > 1);
      plate.figure.querySelector("button")?.setAttribute("aria-pressed", String(i === index));
    });
  }

  private stepSlice(by: number): void {
    const axis = this.plates[this.held]?.plane.axis;
    if (axis === undefined) return;
    const point = this.point();
    point[axis] = (point[axis] ?? 0) + by;
    this.move(point);
  }

  private grow(by: number): void {
    this.zoom *= by;
    this.common.centre = this.zoom > 1 ? this.point() : (this.told.size.map((n) => (n - 1) / 2) as Point);
    this.redraw();
  }

  private shade(shift: number, stretch: number): void {
    this.common.greys.change(shift, stretch);
    this.repaint = true;
    this.redraw();
  }

  private begin(): void {
    this.zoom = 0;
    this.grow(1);
    this.common.greys.set(this.told.black, this.told.white);
    this.repaint = true;
  }

  private readonly does: Record<string, () => void> = {
    back: () => this.stepSlice(-1),
    on: () => this.stepSlice(1),
    closer: () => this.grow(CLOSER),
    wider: () => this.grow(1 / CLOSER),
    brighter: () => this.shade(-0.06, 1),
    darker: () => this.shade(0.06, 1),
    harder: () => this.shade(0, 0.88),
    softer: () => this.shade(0, 1 / 0.88),
    first: () => this.begin(),
  };

  private listen(): void {
    this.place.addEventListener("click", (event) => {
      const button = event.target instanceof Element ? event.target.closest<HTMLElement>("[data-do]") : null;
      this.does[button?.dataset["do"] ?? ""]?.();
      const plate = this.plates.findIndex((one) => button?.dataset["do"] === "hold" && one.figure.contains(button));
      if (plate >= 0) this.hold(plate);
    });
    this.place.addEventListener("input", (event) => {
      const slider = event.target;
      if (!(slider instanceof HTMLInputElement)) return;
      const { greys } = this.common;
      const value = Number(slider.value);
      if (slider.name === "black") greys.set(Math.min(value, greys.white - 1), greys.white);
      else greys.set(Math.min(greys.black, value - 1), value);
      this.repaint = true;
      this.redraw();
    });
    this.plates.forEach((plate, i) => this.listenTo(plate, i));
  }

  /** A drag moves the point; with the other button, or with Shift, it sets the greys. The wheel goes through the slices. */
  private listenTo(plate: Plate, index: number): void {
    const { canvas } = plate;
    let shading = false;
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
    canvas.addEventListener("pointerdown", (event) => {
      shading = event.button !== 0 || event.shiftKey;
      canvas.setPointerCapture(event.pointerId);
      this.hold(index);
      if (!shading) this.move(plate.under(event.offsetX, event.offsetY));
    });
    canvas.addEventListener("pointermove", (event) => {
      if (event.buttons === 0) return;
      if (shading) this.shade(event.movementY / 400, 1 - event.movementX / 400);
      else this.move(plate.under(event.offsetX, event.offsetY));
    });
    canvas.addEventListener("wheel", (event) => {
      if (event.ctrlKey || this.plates.length === 1) return;
      event.preventDefault();
      this.hold(index);
      this.stepSlice(Math.sign(event.deltaY));
    }, { passive: false });
  }
}

/** Shows the picture of this page, where it has one. */
export function showPicture(): PictureView | undefined {
  const place = document.querySelector<HTMLElement>("[data-picture]");
  return place === null ? undefined : new PictureView(place);
}
