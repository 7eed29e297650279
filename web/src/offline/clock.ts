// When did it happen? The server's clock counts; this browser's may be off.
// Answers carry the server's time to the second, which bounds the difference.

let aheadMs = 0;

/** How far this clock is ahead of the server's, in ms: nothing while the two
 * agree within what a `Date` header and the way there and back can tell. */
export function ahead(sentMs: number, receivedMs: number, date: string | null): number | null {
  const server = date === null ? NaN : Date.parse(date);
  if (Number.isNaN(server)) return null;
  const least = sentMs - (server + 1000);
  const most = receivedMs - server;
  if (least > 0) return least;
  if (most < 0) return most;
  return 0;
}

/** Now by the server's clock as far as it is known, RFC 3339 in UTC. */
export function nowText(): string {
  return new Date(Date.now() - aheadMs).toISOString();
}

/** `fetch` that notes what the answer says about the time. */
export async function timedFetch(...asked: Parameters<typeof fetch>): Promise<Response> {
  const sent = Date.now();
  const response = await fetch(...asked);
  aheadMs = ahead(sent, Date.now(), response.headers.get("date")) ?? aheadMs;
  return response;
}
