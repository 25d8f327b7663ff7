import { randomBytes } from "node:crypto";
import { mkdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { z } from "zod";
import { StartError } from "./start-error";

const schema = z.object({
  databasePassword: z.string().min(16),
  appPassword: z.string().min(16),
  authSecret: z.string().min(32),
});

/** Passwords and keys of this installation, made once and kept beside the data, readable by its user only. */
export type Secrets = z.infer<typeof schema>;

export async function loadSecrets(dataDir: string): Promise<Secrets> {
  const file = join(dataDir, "secrets.json");
  const text = await readFile(file, "utf8").catch((error: NodeJS.ErrnoException) => {
    if (error.code === "ENOENT") return null;
    throw new StartError(`cannot read ${file} (${error.code})`);
  });
  if (text !== null) {
    const parsed = schema.safeParse(safeJson(text));
    if (!parsed.success) throw new StartError(`${file} is damaged: restore it from a backup`);
    return parsed.data;
  }
  const secrets: Secrets = {
    databasePassword: randomBytes(24).toString("hex"),
    appPassword: randomBytes(24).toString("hex"),
    authSecret: randomBytes(32).toString("hex"),
  };
  try {
    await mkdir(dataDir, { recursive: true });
    await writeFile(file, `${JSON.stringify(secrets, null, 2)}\n`, { mode: 0o600, flag: "wx" });
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? String(error);
    throw new StartError(
      `cannot write to the data directory ${dataDir} (${code}): give this user write permission, or set TANKLORE_DATA_DIR to another place`,
    );
  }
  return secrets;
}

function safeJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
