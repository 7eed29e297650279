// Codes read by the browser itself, where it can: no code of our own, no third
// party's. A browser that cannot gets no button.

interface Detected {
  rawValue: string;
}
interface Detector {
  detect(source: HTMLVideoElement): Promise<Detected[]>;
}
interface DetectorKind {
  new (options: { formats: string[] }): Detector;
  getSupportedFormats(): Promise<string[]>;
}

/** Codes that labels carry: the page's own, and others a lab may have on its things. */
const WANTED = ["qr_code", "data_matrix", "code_128", "code_39"];

/** A reader of codes when this browser has one and may use a camera. */
export async function reader(): Promise<Detector | null> {
  const kind = (globalThis as { BarcodeDetector?: DetectorKind }).BarcodeDetector;
  const mayAsk = isSecureContext && typeof navigator.mediaDevices?.getUserMedia === "function";
  if (kind === undefined || !mayAsk) return null;
  try {
    const known = await kind.getSupportedFormats();
    const formats = WANTED.filter((format) => known.includes(format));
    return formats.length > 0 ? new kind({ formats }) : null;
  } catch {
    return null;
  }
}

/** Why there is no picture, in words a person can act on. */
export function refusal(error: unknown): string {
  const name = error instanceof DOMException ? error.name : "";
  if (name === "NotAllowedError") return "The browser may not use the camera. Allow it in the browser, or type the label.";
  if (name === "NotFoundError") return "No camera was found. Type the label, or use a scanner.";
  return "The camera gives no picture. Type the label, or use a scanner.";
}
