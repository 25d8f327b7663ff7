import "server-only";
import { betterAuth } from "better-auth";
import { prismaAdapter } from "better-auth/adapters/prisma";
import { APIError, createAuthMiddleware } from "better-auth/api";
import { nextCookies } from "better-auth/next-js";
import { signInDatabase } from "@/lib/data/sign-in";
import { SignInThrottle } from "./sign-in-throttle";

/** Sessions last two weeks and are renewed by use; people are added by an owner, never by themselves. */
const SESSION_SECONDS = 14 * 24 * 3600;

/** The path by which a password is tried, also when the program itself asks. */
const PASSWORD_PATH = "/sign-in/email";

function createAuth() {
  const baseURL = process.env.TANKLORE_BASE_URL;
  const throttle = new SignInThrottle();
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
    hooks: {
      before: createAuthMiddleware(async ({ path, body }) => {
        if (path !== PASSWORD_PATH) return;
        const waitSeconds = throttle.begin(String(body?.email ?? ""), Date.now());
        if (waitSeconds > 0) {
          throw new APIError(
            "TOO_MANY_REQUESTS",
            { message: "Too many attempts." },
            { "retry-after": String(waitSeconds) },
          );
        }
      }),
      after: createAuthMiddleware(async ({ path, body, context }) => {
        if (path === PASSWORD_PATH && context.newSession) {
          throttle.succeed(String(body?.email ?? ""));
        }
      }),
    },
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
