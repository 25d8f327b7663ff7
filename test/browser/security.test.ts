import { expect, inject, test } from "vitest";

const base = () => inject("baseUrl");

test.each(["/sign-in", "/heaters", "/api/health", "/no-such-page"])(
  "%s is answered with the headers that keep a browser from misreading or framing it",
  async (path) => {
    const { headers } = await fetch(`${base()}${path}`, { redirect: "manual" });
    expect(headers.get("x-content-type-options")).toBe("nosniff");
    expect(headers.get("x-frame-options")).toBe("DENY");
    expect(headers.get("content-security-policy")).toMatch(/frame-ancestors 'none'/);
    expect(headers.get("content-security-policy")).toMatch(/connect-src 'self'/);
    expect(headers.get("referrer-policy")).toBe("strict-origin-when-cross-origin");
    expect(headers.get("x-powered-by")).toBeNull();
  },
);

const signIn = (origin: string) =>
  fetch(`${base()}/api/auth/sign-in/email`, {
    method: "POST",
    headers: { "content-type": "application/json", origin },
    body: JSON.stringify({ email: "viewer@demo.example", password: "sarnholt-demo" }),
  });

test("a session cookie is out of reach of scripts and of other sites", async () => {
  const response = await signIn(base());
  expect(response.status).toBe(200);
  const cookies = response.headers.getSetCookie();
  const session = cookies.find((cookie) => cookie.includes("session_token"));
  expect(session).toMatch(/HttpOnly/i);
  expect(session).toMatch(/SameSite=(Lax|Strict)/i);
});

test("another site cannot sign a visitor in", async () => {
  const response = await signIn("https://elsewhere.example");
  expect(response.status).toBe(403);
  expect(response.headers.getSetCookie().join()).not.toContain("session_token");
});
