// Keeps the page of a round and what it is built from, so that it opens without a signal. Entries are
// not its business: the page keeps them in the browser's database and sends them itself.

const PAGES = "tanklore-rounds-1";
const PARTS = "tanklore-parts-1";
const MOST_PARTS = 400;
const WALK = /^\/upkeep\/rounds\/[^/]+\/walk$/;
/** A signal that is too weak to answer in this time is none. */
const PATIENCE_MILLISECONDS = 5000;

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(PARTS)
      .then((parts) => parts.add("/no-signal.html"))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) =>
        Promise.all(
          names
            .filter((name) => name.startsWith("tanklore-") && name !== PAGES && name !== PARTS)
            .map((name) => caches.delete(name)),
        ),
      )
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname === "/sign-in") event.waitUntil(caches.delete(PAGES));
  if (request.mode === "navigate") {
    event.respondWith(WALK.test(url.pathname) ? roundPage(request, url) : otherPage(request));
  } else if (url.pathname.startsWith("/_next/static/") || url.pathname.startsWith("/icons/")) {
    event.respondWith(part(request));
  }
});

self.addEventListener("message", (event) => {
  const { type, owner, page, parts } = event.data ?? {};
  if (type === "owner") event.waitUntil(forgetOthers(owner));
  if (type !== "keep-round") return;
  const [port] = event.ports;
  const kept = forgetOthers(owner).then(() => keepRound(page, parts));
  event.waitUntil(
    kept.then(
      () => port?.postMessage({ kept: true }),
      () => port?.postMessage({ kept: false }),
    ),
  );
});

/** The round as it is now where there is a signal, as it was last where there is none. */
async function roundPage(request, url) {
  const pages = await caches.open(PAGES);
  try {
    const response = await inTime(fetch(request));
    if (response.redirected && new URL(response.url).pathname === "/sign-in") {
      await caches.delete(PAGES);
    } else if (response.ok && !response.redirected) {
      await pages.put(url.pathname, response.clone());
    }
    return response;
  } catch {
    return (await pages.match(url.pathname)) ?? noSignal();
  }
}

async function otherPage(request) {
  try {
    const response = await fetch(request);
    if (response.redirected && new URL(response.url).pathname === "/sign-in") {
      await caches.delete(PAGES);
    }
    return response;
  } catch {
    return noSignal();
  }
}

/** Parts carry their content's hash in their names: what is kept never grows old. */
async function part(request) {
  const parts = await caches.open(PARTS);
  const kept = await parts.match(request);
  if (kept) return kept;
  const response = await fetch(request);
  if (response.ok) await parts.put(request, response.clone());
  return response;
}

async function noSignal() {
  const kept = await caches.match("/no-signal.html");
  return kept ?? Response.error();
}

function inTime(promise) {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error("no answer in time")), PATIENCE_MILLISECONDS);
    promise.then(resolve, reject).finally(() => clearTimeout(timer));
  });
}

/** Where the cache notes whose rounds it keeps. */
const OWNER = "/kept-for";

/** Rounds are kept for one person: those of whoever used this browser before are thrown away. */
async function forgetOthers(owner) {
  const pages = await caches.open(PAGES);
  const noted = await (await pages.match(OWNER))?.text();
  if (noted === owner) return;
  await caches.delete(PAGES);
  await (await caches.open(PAGES)).put(OWNER, new Response(owner));
}

async function keepRound(page, names) {
  const pages = await caches.open(PAGES);
  const parts = await caches.open(PARTS);
  const response = await fetch(page, { credentials: "same-origin" });
  if (!response.ok || response.redirected) throw new Error("the round cannot be kept");
  for (const name of names) {
    if (!(await parts.match(name))) await parts.add(name);
  }
  await pages.put(new URL(page).pathname, response);
  const built = (await parts.keys()).filter(({ url }) => url.includes("/_next/"));
  for (const old of built.slice(0, Math.max(0, built.length - MOST_PARTS))) await parts.delete(old);
}
