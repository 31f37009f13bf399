// The section along the canal in hand, laid out straight: the orifice at the top, the place of the cross marked.

import type { Greys, Pixels } from "./greys";
import type { Canal } from "./canals";
import type { Point } from "./plate";
import { roundLength } from "./ruler";

const BEYOND = 1.1; // the section goes on below the end

export class Along {
  private canal: Canal | undefined;
  private address = "";
  private pixels: Pixels | undefined;
  private depth = 0;

  constructor(private readonly bits: number, private readonly greys: Greys, private readonly go: (point: Point) => void) {
    document.addEventListener("click", (event) => this.clicked(event));
    window.addEventListener("resize", () => this.draw());
  }

  private get canvas(): HTMLCanvasElement | null {
    return document.querySelector("canvas.along");
  }

  show(canal: Canal | undefined, point: Point): void {
    const address = canal?.along ?? "";
    const same = address === this.address && this.pixels !== undefined;
    [this.canal, this.address] = [canal, address];
    this.mark(point);
    if (!same && address !== "") void this.fetch(address);
  }

  /** The cross went somewhere: the nearest place of the canal. */
  mark(point: Point): void {
    const { canal } = this;
    if (canal === undefined) return;
    const away = canal.line.map((one) => Math.hypot(...one.map((x, k) => x - (point[k] ?? 0))));
    this.depth = canal.length - (canal.s[away.indexOf(Math.min(...away))] ?? 0);
    this.draw();
  }

  private async fetch(address: string): Promise<void> {
    this.pixels = undefined;
    const answer = await fetch(address, { headers: { "HX-Request": "true" } }).catch(() => undefined);
    if (answer?.ok !== true || address !== this.address) return;
    const raw = await answer.arrayBuffer();
    this.pixels = this.bits === 8 ? new Uint8Array(raw) : new Uint16Array(raw);
    this.draw();
  }

  private clicked(event: MouseEvent): void {
    const { canal, canvas } = this;
    if (canal === undefined || canvas === null || event.target !== canvas) return;
    const s = canal.length * (1 - (event.offsetY / canvas.clientHeight) * BEYOND);
    const away = canal.s.map((one) => Math.abs(one - s));
    const point = canal.line[away.indexOf(Math.min(...away))];
    if (point !== undefined) this.go([...point]);
  }

  draw(): void {
    const { canvas, canal, pixels } = this;
    const pen = canvas?.getContext("2d");
    if (canvas === null || !pen || canal === undefined || pixels === undefined) return;
    const behind = document.createElement("canvas");
    [behind.width, behind.height] = [canal.columns, canal.rows];
    const image = new ImageData(canal.columns, canal.rows);
    this.greys.paint(pixels, image);
    behind.getContext("2d")?.putImageData(image, 0, 0);
    const sharp = window.devicePixelRatio;
    const [width, height] = [canvas.clientWidth, canvas.clientHeight];
    [canvas.width, canvas.height] = [Math.round(width * sharp), Math.round(height * sharp)];
    pen.scale(sharp, sharp);
    pen.imageSmoothingQuality = "high";
    const wide = (height / canal.rows) * canal.columns;
    pen.drawImage(behind, (width - wide) / 2, 0, wide, height);
    this.ruler(pen, canal, width, height);
    canvas.dataset["shown"] = this.address;
  }

  /** Depth from the orifice; the end that the scan suggests, the end set by hand, the place of the cross. */
  private ruler(pen: CanvasRenderingContext2D, canal: Canal, width: number, height: number): void {
    const style = getComputedStyle(this.canvas ?? document.body);
    const pxPerUnit = height / (BEYOND * canal.length);
    const step = roundLength(pxPerUnit, 60);
    const across = (depth: number, thick: number): void => pen.fillRect(0, Math.round(depth * pxPerUnit) - thick / 2, width, thick);
    pen.font = `${style.fontSize} ${style.fontFamily}`;
    pen.textBaseline = "middle";
    pen.fillStyle = style.getPropertyValue("--ink");
    for (let depth = step; depth <= BEYOND * canal.length; depth += step) {
      pen.fillRect(0, Math.round(depth * pxPerUnit), 8, 1);
      pen.fillText(String(Number(depth.toPrecision(4))), 12, depth * pxPerUnit);
    }
    pen.fillStyle = style.getPropertyValue("--compound-line");
    across(canal.length, 2);
    if (canal.above !== null) across(canal.length - canal.above, 4);
    pen.fillStyle = style.getPropertyValue("--accent");
    across(this.depth, 1);
  }
}
