// Something is put away: sent, or kept on this device until the server answers.
import type { Problem } from "../api/problem";
import { nowText } from "../offline/clock";
import { type BodyOf, outbox } from "../offline/waiting.svelte";
import { newKey } from "./keys";

/** What to say of it, or why not. `capped` is `yes`, `no`, or nothing when nobody looked. */
export async function putAway(tag: string, place: string, capped: string, person: string): Promise<{ words: string; problem: null } | { words: ""; problem: Problem }> {
  const body: BodyOf<"/api/v1/put-aways"> = { tag: tag.trim(), place: place.trim(), person: person.trim(), ...(capped === "" ? {} : { capped: capped === "yes" }) };
  const sent = await outbox.write("/api/v1/put-aways", body, `Put away: ${body.tag} in ${body.place}`, newKey(), nowText());
  if ("problem" in sent) return { words: "", problem: sent.problem };
  const where = `${body.tag} is in ${body.place}.`;
  return { words: sent.state === "waiting" ? `Kept on this device: ${where} It is sent when the server answers.` : `Recorded: ${where}`, problem: null };
}
