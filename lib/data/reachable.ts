import { appPool } from "./connections";

/** Whether the database answers the application's role in time. */
export async function isReachable(milliseconds: number): Promise<boolean> {
  let timer: NodeJS.Timeout | undefined;
  const impatience = new Promise<boolean>((resolve) => {
    timer = setTimeout(() => resolve(false), milliseconds);
  });
  const asked = appPool()
    .query("SELECT 1")
    .then(
      () => true,
      () => false,
    );
  try {
    return await Promise.race([asked, impatience]);
  } finally {
    clearTimeout(timer);
  }
}
