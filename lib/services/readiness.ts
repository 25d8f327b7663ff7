import "server-only";
import { isReachable } from "@/lib/data/reachable";

/** Whether the record answers within two seconds. Open to everyone: load balancers and the error page ask. */
export function isRecordReachable(): Promise<boolean> {
  return isReachable(2_000);
}
