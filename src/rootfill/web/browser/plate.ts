// One plane of a picture on its canvas: the slice, the cross-hair, and whatever others draw over it.

import type { Greys, Pixels } from "./greys";

export type Point = [number, number, number]; // voxel indices along x, y, z

/** How a plane lies: cut across an axis; voxel axes across and down the screen, -1 against the index. */
export interface Plane {
  name: string;
  axis: number;
  across: number;
  across_sign: number;
  down: number;
  down_sign: number;
}

/** What a plate shows: which slice, how large, and where a point in voxel indices lies on it [px]. */
export interface Sheet {
  readonly plane: Plane;
  slice: number;
  at(point: readonly number[]): [number, number];
}

export type Overlay = (pen: CanvasRenderingContext2D, sheet: Sheet) => void;

/** What all plates have in common. ``scale``: px per voxel along x, y, z. */
export interface Common {
  point: Point;
  centre: Point;
  scale: number[];
  greys: Greys;
  overlays: Overlay[];
}

const GAP = 14;

function of(values: readonly number[], axis: number): number {
  return values[axis] ?? 0;
}

export class Plate implements Sheet {
  slice = -1;
  readonly canvas: HTMLCanvasElement;
  private readonly drawn = document.createElement("canvas");
  private pixels: Pixels | undefined;

  constructor(readonly figure: HTMLElement, readonly plane: Plane, private readonly size: readonly number[], private readonly common: Common) {
    const canvas = figure.querySelector("canvas");
    if (canvas === null) throw new Error("a plate without a canvas");
    this.canvas = canvas;
    const [first, second] = [plane.across, plane.down].sort();
    this.drawn.width = of(size, first ?? 0);
    this.drawn.height = of(size, second ?? 1);
  }

  get width(): number {
    return this.canvas.clientWidth;
  }

  get height(): number {
    return this.canvas.clientHeight;
  }

  at(point: readonly number[]): [number, number] {
    const { across, across_sign, down, down_sign } = this.plane;
    const { centre, scale } = this.common;
    return [
      this.width / 2 + across_sign * (of(point, across) - of(centre, across)) * of(scale, across),
      this.height / 2 + down_sign * (of(point, down) - of(centre, down)) * of(scale, down),
    ];
  }

  /** The point that lies under a place on the canvas, in this slice. */
  under(x: number, y: number): Point {
    const { across, across_sign, down, down_sign } = this.plane;
    const { centre, scale, point } = this.common;
    const found: Point = [...point];
    const put = (axis: number, value: number): void => {
      found[axis] = Math.min(Math.max(Math.round(value), 0), of(this.size, axis) - 1);
    };
    put(across, of(centre, across) + (across_sign * (x - this.width / 2)) / of(scale, across));
    put(down, of(centre, down) + (down_sign * (y - this.height / 2)) / of(scale, down));
    return found;
  }

  /** The grey value as it is kept at the point, where its slice is here. */
  grey(): number | undefined {
    const [first, second] = [this.plane.across, this.plane.down].sort();
    return this.pixels?.[of(this.common.point, second ?? 1) * this.drawn.width + of(this.common.point, first ?? 0)];
  }

  /** Greys of a slice onto the canvas behind; the one on the screen shows it at the next drawing. */
  load(slice: number, pixels: Pixels, anew: boolean): void {
    if (slice === this.slice && !anew) return;
    const pen = this.drawn.getContext("2d");
    if (pen === null) return;
    const image = pen.createImageData(this.drawn.width, this.drawn.height);
    this.common.greys.paint(pixels, image);
    pen.putImageData(image, 0, 0);
    this.pixels = pixels;
    this.slice = slice;
  }

  draw(colour: string): void {
    const sharp = window.devicePixelRatio;
    const [width, height] = [Math.round(this.width * sharp), Math.round(this.height * sharp)];
    if (this.canvas.width !== width || this.canvas.height !== height) [this.canvas.width, this.canvas.height] = [width, height];
    const pen = this.canvas.getContext("2d");
    if (pen === null || this.slice < 0) return;
    pen.setTransform(sharp, 0, 0, sharp, 0, 0);
    pen.clearRect(0, 0, this.width, this.height);
    pen.save();
    this.place(pen);
    pen.drawImage(this.drawn, -0.5, -0.5); // a voxel lies about its index
    pen.restore();
    this.cross(pen, colour);
    for (const overlay of this.common.overlays) {
      pen.save();
      overlay(pen, this);
      pen.restore();
    }
    if (this.canvas.dataset["slice"] !== String(this.slice)) this.canvas.dataset["slice"] = String(this.slice);
  }

  /** From columns and rows of the slice to the canvas. */
  private place(pen: CanvasRenderingContext2D): void {
    const { across, across_sign, down, down_sign } = this.plane;
    const { scale } = this.common;
    const [x, y] = this.at([0, 0, 0]);
    const [right, below] = [across_sign * of(scale, across), down_sign * of(scale, down)];
    if (across < down) pen.transform(right, 0, 0, below, x, y);
    else pen.transform(0, below, right, 0, x, y);
  }

  private cross(pen: CanvasRenderingContext2D, colour: string): void {
    const [x, y] = this.at(this.common.point).map((part) => Math.round(part) + 0.5);
    if (x === undefined || y === undefined) return;
    pen.strokeStyle = colour;
    pen.lineWidth = 1;
    pen.beginPath();
    for (const [from, to] of [[0, x - GAP], [x + GAP, this.width]] as const) {
      pen.moveTo(from, y);
      pen.lineTo(Math.max(to, from), y);
    }
    for (const [from, to] of [[0, y - GAP], [y + GAP, this.height]] as const) {
      pen.moveTo(x, from);
      pen.lineTo(x, Math.max(to, from));
    }
    pen.stroke();
  }
}
