import { answerEntry } from "@/app/_lib/answer-entry";
import { receiveEntry } from "@/lib/services/round-entries";

/** An entry from a phone. */
export function POST(request: Request): Promise<Response> {
  return answerEntry(request, receiveEntry);
}
