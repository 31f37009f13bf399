// Grey values of slices: fetched raw, kept a while, their neighbours fetched ahead; black and white are set here, at once.

export type Pixels = Uint8Array<ArrayBuffer> | Uint16Array<ArrayBuffer>;

const KEPT = 64; // slices of each axis: 32 MB where one has 512 × 512 pixels of 16 bits
const AHEAD = 3;

/** Slices of one picture. A wish is sent at once, the newest waits where two are on their way; what lies ahead comes last. */
export class Slices {
  private readonly kept = [0, 1, 2].map(() => new Map<number, Pixels>());
  private readonly coming = [0, 1, 2].map(() => new Set<number>());
  private readonly wish: (number | undefined)[] = [];
  private readonly shown = [-1, -1, -1];
  private readonly way = [1, 1, 1];

  constructor(
    private readonly address: string,
    private readonly bits: number,
    private readonly size: readonly number[],
    private readonly come: () => void,
    private readonly failed: (says: string) => void,
  ) {}

  /** The slice where it is here; else it comes, and ``come`` is called. */
  get(axis: number, index: number): Pixels | undefined {
    const found = this.kept[axis]?.get(index);
    this.wish[axis] = found === undefined ? index : undefined;
    if (found === undefined) this.ask(axis);
    else if (index !== this.shown[axis]) {
      this.way[axis] = index < (this.shown[axis] ?? 0) ? -1 : 1;
      this.shown[axis] = index;
      this.ahead(axis);
    }
    return found;
  }

  private ask(axis: number): void {
    const [index, coming] = [this.wish[axis], this.coming[axis]];
    if (index !== undefined && coming !== undefined && !coming.has(index) && coming.size < 2) void this.fetch(axis, index);
  }

  private ahead(axis: number): void {
    const [index, way] = [this.shown[axis] ?? 0, this.way[axis] ?? 1];
    const missing = [1, 2, AHEAD].map((n) => index + n * way).concat(index - way).find(
      (near) => near >= 0 && near < (this.size[axis] ?? 0) && !this.kept[axis]?.has(near),
    );
    if (missing !== undefined && this.coming[axis]?.size === 0) void this.fetch(axis, missing);
  }

  private async fetch(axis: number, index: number): Promise<void> {
    this.coming[axis]?.add(index);
    let came = false;
    try {
      const answer = await fetch(`${this.address}/${axis}/${index}`, { headers: { "HX-Request": "true" } });
      came = answer.ok;
      if (came) this.keep(axis, index, await answer.arrayBuffer());
      else this.failed(new DOMParser().parseFromString(await answer.text(), "text/html").body.textContent.trim());
    } catch {
      came = false;
      this.failed("The program does not answer. The picture comes when it does: press a key again.");
    }
    this.coming[axis]?.delete(index);
    if (!came) return;
    if (index === this.wish[axis]) this.come();
    else if (this.wish[axis] !== undefined) this.ask(axis);
    else this.ahead(axis);
  }

  private keep(axis: number, index: number, raw: ArrayBuffer): void {
    const kept = this.kept[axis];
    if (kept === undefined) return;
    kept.set(index, this.bits === 8 ? new Uint8Array(raw) : new Uint16Array(raw));
    const oldest = kept.keys().next().value;
    if (kept.size > KEPT && oldest !== undefined) kept.delete(oldest);
  }
}

/** Which grey value is black and which is white. */
export class Greys {
  private readonly shades: Uint32Array;

  constructor(public black: number, public white: number, bits: number) {
    this.shades = new Uint32Array(2 ** bits);
    this.set(black, white);
  }

  set(black: number, white: number): void {
    const most = this.shades.length - 1;
    this.black = Math.min(Math.max(Math.round(black), 0), most - 1);
    this.white = Math.min(Math.max(Math.round(white), this.black + 1), most);
    const gain = 255 / (this.white - this.black);
    for (let grey = 0; grey <= most; grey++) {
      const shade = Math.min(Math.max((grey - this.black) * gain, 0), 255);
      this.shades[grey] = 0xff000000 | (Math.round(shade) * 0x010101);
    }
  }

  /** Brighter where ``shift`` is negative, harder where ``stretch`` is below 1; both in parts of the width. */
  change(shift: number, stretch: number): void {
    const width = this.white - this.black;
    const middle = this.black + width / 2 + shift * width;
    const half = Math.max((width * stretch) / 2, 1);
    this.set(middle - half, middle + half);
  }

  paint(pixels: Pixels, onto: ImageData): void {
    const out = new Uint32Array(onto.data.buffer);
    for (let i = 0; i < out.length; i++) out[i] = this.shades[pixels[i] ?? 0] ?? 0;
  }
}
