/** On every answer. */
const HEADERS = [
  { key: "x-content-type-options", value: "nosniff" },
  { key: "x-frame-options", value: "DENY" },
  { key: "referrer-policy", value: "strict-origin-when-cross-origin" },
  { key: "cross-origin-opener-policy", value: "same-origin" },
  { key: "cross-origin-resource-policy", value: "same-origin" },
  {
    key: "permissions-policy",
    value: "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
  },
];

/** What scripts a page may run is not restricted here: see docs/security.md. */
const CONTENT_POLICY = {
  key: "content-security-policy",
  value:
    "frame-ancestors 'none'; base-uri 'self'; form-action 'self'; object-src 'none'; connect-src 'self'; font-src 'self'; img-src 'self' data: blob:; worker-src 'self'; manifest-src 'self'",
};

/** Everything but pictures that people sent, whose answers carry a stricter policy of their own. */
const ALL_BUT_PHOTOS = "/((?!sites/photos/|api/upkeep/photos/).*)";

/** @type {import("next").NextConfig} */
const config = {
  poweredByHeader: false,
  reactStrictMode: true,
  serverExternalPackages: [
    "pg",
    "pg-boss",
    "pg-copy-streams",
    "@prisma/client",
    "@prisma/adapter-pg",
  ],
  // `npm test` checks the types; a start on a user's machine does not need to do it again.
  typescript: { ignoreBuildErrors: true },
  async headers() {
    return [
      { source: "/:path*", headers: HEADERS },
      { source: ALL_BUT_PHOTOS, headers: [CONTENT_POLICY] },
    ];
  },
};
export default config;
