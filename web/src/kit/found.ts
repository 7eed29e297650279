// What a person says of the pieces of a kit while looking through it.
import type { Schemas } from "../api/client";

type Piece = Schemas["KitPieceJson"];

export interface Said {
  /** `in-place`, `swapped`, `missing`, or empty: not looked for yet. */
  place: string;
  /** `yes`, `no`, or empty: nobody looked. */
  capped: string;
}

export const nothing = (): Said => ({ place: "", capped: "" });

/** The piece a scanned label names: its own label or that of one of its ends, case aside. */
export function pieceOf(pieces: readonly Piece[], label: string): Piece | undefined {
  const wanted = label.trim().toLowerCase();
  return pieces.find((piece) => [piece.tag, ...piece.ends.map((end) => end.end.tag)].some((tag) => tag.toLowerCase() === wanted));
}

/** The check as it is sent: only the pieces something was said of. */
export function foundOf(pieces: readonly Piece[], said: Readonly<Record<string, Said>>): Schemas["PieceAsked"][] {
  return pieces.flatMap((piece) => {
    const { place, capped } = said[piece.id] ?? nothing();
    if (place === "") return [];
    return [{ piece: piece.tag, place, ...(capped === "" || place === "missing" ? {} : { capped: capped === "yes" }) }];
  });
}
