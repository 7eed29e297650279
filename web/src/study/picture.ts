// A picture of the server in a person's own numbers: its words, and the numbers
// at its axes. Where a line or a point stands is the server's.
import { inMyNumbers } from "../said";
import { lengthUnit } from "../quantities";

const TEXT = /(<(text|title|desc)\b([^>]*)>)([^<]*)(<\/\2>)/g;
/** Numbers beside the vertical axis end just before it. */
const BESIDE_AXIS = /^\s*x="75\.0"[^>]*text-anchor="end"/;
const NUMBER = /^[\u2212-]?\d+(\.\d+)?$/;

export function pictureText(svg: string): string {
  const isLength = /rotate\(-90[^>]*>[^<]*µm/.test(svg);
  return svg.replaceAll(TEXT, (_, open: string, _name: string, attributes: string, content: string, close: string) => {
    const isTick = isLength && BESIDE_AXIS.test(attributes) && NUMBER.test(content);
    const shown = isTick ? inMyNumbers(`${content} µm`).replace(/ (µm|mil)$/, "") : inMyNumbers(content).replaceAll(/\bin µm/g, `in ${lengthUnit()}`);
    return open + shown + close;
  });
}

/** The picture as the address of a blob; give it back when it is no longer shown. */
export const pictureAddress = (svg: string): string => URL.createObjectURL(new Blob([pictureText(svg)], { type: "image/svg+xml" }));
