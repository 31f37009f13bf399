// Lengths on a picture: a bar of a round length, and the depth beside the two long views.

const ROUND = [1, 2, 5];

/** The largest of 1, 2, 5, 10 … units that is no longer than so many px. */
export function roundLength(pxPerUnit: number, most: number): number {
  const power = 10 ** Math.floor(Math.log10(most / pxPerUnit));
  const fits = ROUND.map((one) => one * power).filter((one) => one * pxPerUnit <= most);
  return fits.at(-1) ?? power;
}

export function words(length: number, unit: string): string {
  return `${Number(length.toPrecision(3))} ${unit}`;
}

/** Ticks of depth down the canvas, and the depth at which the point lies. All in units; ``top`` is where 0 is [px]. */
export function drawDepth(canvas: HTMLCanvasElement, top: number, pxPerUnit: number, whole: number, depth: number, digits: number): void {
  const sharp = window.devicePixelRatio;
  const [width, height] = [canvas.clientWidth, canvas.clientHeight];
  [canvas.width, canvas.height] = [Math.round(width * sharp), Math.round(height * sharp)];
  const pen = canvas.getContext("2d");
  if (pen === null) return;
  const style = getComputedStyle(canvas);
  pen.scale(sharp, sharp);
  pen.font = `${style.fontSize} ${style.fontFamily}`;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  const step = roundLength(pxPerUnit, 80);
  const here = top + depth * pxPerUnit;
  pen.fillStyle = pen.strokeStyle = style.getPropertyValue("--ink-2");
  for (let tick = 0; tick * (step / 5) <= whole; tick++) {
    const y = Math.round(top + tick * (step / 5) * pxPerUnit) + 0.5;
    const long = tick % 5 === 0 ? 8 : 4;
    pen.fillRect(0, y - 0.5, long, 1);
    pen.fillRect(width - long, y - 0.5, long, 1);
    if (long === 8 && Math.abs(y - here) > 20) pen.fillText(String(Number((tick / 5 * step).toPrecision(6))), width / 2, y);
  }
  pen.fillStyle = style.getPropertyValue("--accent");
  pen.fillRect(0, Math.round(here), width, 1);
  pen.fillStyle = style.getPropertyValue("--paper");
  pen.fillRect(6, here - 9, width - 12, 18);
  pen.fillStyle = style.getPropertyValue("--accent");
  pen.font = `600 ${pen.font}`;
  pen.fillText(depth.toFixed(digits), width / 2, here);
}
