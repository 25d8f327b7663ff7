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
};
export default config;
