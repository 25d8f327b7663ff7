import { answerEntry } from "@/app/_lib/answer-entry";
import { takeBackEntry } from "@/lib/services/round-entries";

/** An entry taken back on a phone. */
export function POST(request: Request): Promise<Response> {
  return answerEntry(request, takeBackEntry);
}
