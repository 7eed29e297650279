// Photos that wait: their bytes, not a name of a file that may be gone.

/** The bytes of a file as they are now. */
export async function photoFrom(file: Blob): Promise<Blob> {
  return new Blob([await file.arrayBuffer()], { type: file.type });
}

export function shownSize(bytes: number): string {
  if (bytes < 1024) return `${bytes} bytes`;
  return bytes < 1024 * 1024 ? `${Math.round(bytes / 1024)} KiB` : `${(bytes / 1024 / 1024).toFixed(1)} MiB`;
}

/** The bytes in base64, for a file that holds everything that waits. */
export async function inBase64(photo: Blob): Promise<string> {
  const bytes = new Uint8Array(await photo.arrayBuffer());
  let text = "";
  for (let at = 0; at < bytes.length; at += 8192) text += String.fromCharCode(...bytes.subarray(at, at + 8192));
  return btoa(text);
}
