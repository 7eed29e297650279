// A QR code of a label as one SVG path. ISO/IEC 18004 is a page of tables and
// Reed-Solomon arithmetic, so a small library without dependencies
// (qrcode-generator, MIT) makes the modules; a test reads them back with
// another one. Loaded with the first sheet of labels, not with the page.

/** Empty modules around a code that ISO/IEC 18004 asks for. */
export const QUIET_MODULES = 4;

export interface Code {
  /** Modules along a side, quiet zone included. */
  side: number;
  /** The dark modules, in modules from the top left. */
  path: string;
}

/** Makes codes. Error correction M: about 15 % of a code may be lost. */
export async function coder(): Promise<(text: string) => Code> {
  const { default: qrcode } = await import("qrcode-generator");
  return (text) => {
    const code = qrcode(0, "M");
    // Bytes are UTF-8: labels may hold anything.
    code.addData(String.fromCharCode(...new TextEncoder().encode(text)), "Byte");
    code.make();
    const count = code.getModuleCount();
    let path = "";
    for (let row = 0; row < count; row++) {
      for (let column = 0; column < count; column++) {
        if (code.isDark(row, column)) path += `M${column + QUIET_MODULES} ${row + QUIET_MODULES}h1v1h-1z`;
      }
    }
    return { side: count + 2 * QUIET_MODULES, path };
  };
}
