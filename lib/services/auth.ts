import "server-only";
import { betterAuth } from "better-auth";
import { prismaAdapter } from "better-auth/adapters/prisma";
import { nextCookies } from "better-auth/next-js";
import { signInDatabase } from "@/lib/data/sign-in";

/** Sessions last two weeks and are renewed by use; people are added by an owner, never by themselves. */
const SESSION_SECONDS = 14 * 24 * 3600;

function createAuth() {
  const baseURL = process.env.TANKLORE_BASE_URL;
  return betterAuth({
    baseURL,
    secret: process.env.TANKLORE_AUTH_SECRET,
    trustedOrigins: baseURL ? originsOf(baseURL) : [],
    database: prismaAdapter(signInDatabase(), { provider: "postgresql" }),
    emailAndPassword: { enabled: true, disableSignUp: true, minPasswordLength: 12 },
    session: { expiresIn: SESSION_SECONDS, updateAge: 24 * 3600 },
    telemetry: { enabled: false },
    logger: { level: "error" },
    advanced: { cookiePrefix: "tanklore" },
    plugins: [nextCookies()],
  });
}

/** The same machine answers to both names of the loopback address. */
function originsOf(baseUrl: string): string[] {
  const { origin } = new URL(baseUrl);
  return [origin, origin.replace("//127.0.0.1:", "//localhost:")];
}

let instance: ReturnType<typeof createAuth> | undefined;

/** The authentication library, made on first use: a build has no database. */
export function auth(): ReturnType<typeof createAuth> {
  instance ??= createAuth();
  return instance;
}
