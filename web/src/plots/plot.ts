// The only file that imports uPlot. It draws sweeps of 10 000 points and more on
// a canvas and pans them without a pause, which SVG does not: as markup the same
// curves are half a megabyte. uPlot is 23 kB compressed, has no dependencies, and
// comes in a chunk of its own that only a screen with a plot loads.
// A canvas says nothing to a screen reader: the component that shows it writes
// the same as a sentence and a table.
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { significant } from "../quantities";

export interface Curve {
  name: string;
  values: number[];
  /** Name of a colour token, without the dashes. */
  colour: string;
  width: number;
}

/** A place on the x axis with a name. */
export interface Mark {
  at: number;
  name: string;
  strong: boolean;
}

export interface Shown {
  x: { label: string; values: number[] };
  y: { label: string };
  curves: Curve[];
  marks: Mark[];
}

export interface Plot {
  /** Moves by a share of what is in view. */
  pan(share: number): void;
  /** Below 1 closer, above 1 wider. */
  zoom(factor: number): void;
  all(): void;
  inView(): [number, number];
  destroy(): void;
}

const HEIGHT = 320;

/** Colours live in style sheets as light and dark in one; the browser resolves them. */
function colours(host: HTMLElement, names: string[]): Map<string, string> {
  const probe = document.createElement("span");
  host.append(probe);
  const found = new Map<string, string>();
  for (const name of names) {
    probe.style.color = `var(--${name})`;
    found.set(name, getComputedStyle(probe).color);
  }
  probe.remove();
  return found;
}

export function drawPlot(host: HTMLElement, shown: Shown, viewed: (from: number, to: number) => void): Plot {
  const names = ["ink", "ink-soft", "rule", "copper", ...shown.curves.map((c) => c.colour)];
  let tones = colours(host, names);
  const tone = (name: string) => tones.get(name) ?? "currentColor";
  const font = `14px ${getComputedStyle(host).fontFamily}`;
  const first = shown.x.values[0] ?? 0;
  const last = shown.x.values.at(-1) ?? 1;
  const least = (last - first) / 500;

  const axis = (label: string): uPlot.Axis => ({
    label,
    font,
    labelFont: font,
    values: (_, splits) => splits.map((value) => significant(value, 6)),
    stroke: () => tone("ink"),
    grid: { stroke: () => tone("rule"), width: 1 },
    ticks: { stroke: () => tone("rule"), width: 1 },
  });
  const plot = new uPlot(
    {
      width: Math.max(200, host.clientWidth),
      height: HEIGHT,
      legend: { show: false },
      cursor: { drag: { x: false, y: false }, points: { show: false } },
      scales: { x: { time: false } },
      axes: [axis(shown.x.label), { ...axis(shown.y.label), size: 74 }],
      series: [
        {},
        ...shown.curves.map((c): uPlot.Series => ({
          label: c.name,
          stroke: () => tone(c.colour),
          width: c.width,
          points: { show: false },
        })),
      ],
      hooks: {
        draw: [(u) => marks(u, shown.marks, tone, font)],
        setScale: [
          (u, key) => {
            if (key === "x") viewed(u.scales.x?.min ?? first, u.scales.x?.max ?? last);
          },
        ],
      },
    },
    [shown.x.values, ...shown.curves.map((c) => c.values)],
    host,
  );

  const inView = (): [number, number] => [plot.scales.x?.min ?? first, plot.scales.x?.max ?? last];
  /** Keeps the width and stays inside the data. */
  const show = (from: number, to: number) => {
    const width = Math.min(last - first, Math.max(least, to - from));
    const start = Math.min(last - width, Math.max(first, from));
    plot.setScale("x", { min: start, max: start + width });
  };
  const pan = (share: number) => {
    const [from, to] = inView();
    const by = (to - from) * share;
    show(from + by, to + by);
  };
  const zoom = (factor: number, about?: number) => {
    const [from, to] = inView();
    const centre = about ?? (from + to) / 2;
    show(centre - (centre - from) * factor, centre + (to - centre) * factor);
  };

  // Drag moves; the buttons beside the plot do the same without a drag.
  let grip: { x: number; from: number; to: number } | null = null;
  const over = plot.over;
  over.classList.add("plot-over");
  const down = (event: PointerEvent) => {
    if (event.button !== 0) return;
    const [from, to] = inView();
    grip = { x: event.clientX, from, to };
    over.setPointerCapture(event.pointerId);
  };
  const move = (event: PointerEvent) => {
    if (!grip) return;
    const by = ((grip.x - event.clientX) / over.clientWidth) * (grip.to - grip.from);
    show(grip.from + by, grip.to + by);
  };
  const up = () => {
    grip = null;
  };
  // With Ctrl only: the wheel alone scrolls the page.
  const wheel = (event: WheelEvent) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    zoom(event.deltaY > 0 ? 1.25 : 0.8, plot.posToVal(event.offsetX, "x"));
  };
  over.addEventListener("pointerdown", down);
  over.addEventListener("pointermove", move);
  over.addEventListener("pointerup", up);
  over.addEventListener("pointercancel", up);
  over.addEventListener("wheel", wheel, { passive: false });

  const scheme = matchMedia("(prefers-color-scheme: dark)");
  const recolour = () => {
    tones = colours(host, names);
    plot.redraw(false, true);
  };
  scheme.addEventListener("change", recolour);
  const size = new ResizeObserver(() => {
    const width = Math.max(200, host.clientWidth);
    if (width !== plot.width) plot.setSize({ width, height: HEIGHT });
  });
  size.observe(host);

  return {
    pan,
    zoom: (factor) => zoom(factor),
    all: () => show(first, last),
    inView,
    destroy: () => {
      scheme.removeEventListener("change", recolour);
      size.disconnect();
      plot.destroy();
    },
  };
}

function marks(u: uPlot, all: Mark[], tone: (name: string) => string, font: string) {
  const { ctx } = u;
  const { left, top, width, height } = u.bbox;
  const ratio = devicePixelRatio;
  ctx.save();
  ctx.beginPath();
  ctx.rect(left, top, width, height);
  ctx.clip();
  ctx.font = font.replace("14px", `${14 * ratio}px`);
  ctx.textBaseline = "top";
  ctx.textAlign = "left";
  let row = 0;
  for (const mark of all) {
    const x = u.valToPos(mark.at, "x", true);
    if (x < left - 1 || x > left + width + 1) continue;
    ctx.strokeStyle = tone(mark.strong ? "copper" : "ink-soft");
    ctx.lineWidth = (mark.strong ? 3 : 1.5) * ratio;
    ctx.setLineDash(mark.strong ? [] : [5 * ratio, 4 * ratio]);
    ctx.beginPath();
    ctx.moveTo(x, top);
    ctx.lineTo(x, top + height);
    ctx.stroke();
    const wide = ctx.measureText(mark.name).width;
    // Near the right edge the name stands on the left of its line.
    const fits = x + wide + 8 * ratio < left + width;
    ctx.fillStyle = tone("ink");
    ctx.fillText(mark.name, fits ? x + 5 * ratio : x - wide - 5 * ratio, top + (4 + 18 * row) * ratio);
    row = (row + 1) % 4;
  }
  ctx.restore();
}
