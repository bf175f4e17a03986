// The service worker: static files of one version, and the empty page where the network does not answer. No page of a
// person, no picture and no answer with anybody's data ever goes into its cache. `SITE` stands in front of this text.
"use strict";

const CACHE = `coachbook-${SITE.version}`;
const fresh = (address) => new Request(address, { cache: "reload" });

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll([SITE.shell, ...SITE.files].map(fresh))));
  self.skipWaiting(); // an open page has loaded all its files: it goes on working with them
});

self.addEventListener("activate", (event) => {
  event.waitUntil(forgetOld().then(() => self.clients.claim()));
});

async function forgetOld() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name !== CACHE).map((name) => caches.delete(name)));
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request, pathname));
  else if (SITE.files.includes(pathname)) event.respondWith(file(request));
});

// A page comes from the network alone. Where that is silent and the page may have a likeness here, nobody waits for
// ever; but whoever asks again does.
async function page(request, pathname) {
  const hasLikeness = SITE.pages.some((pattern) => new RegExp(pattern).test(pathname));
  try {
    return await (hasLikeness && !request.isReloadNavigation ? soon(request) : fetch(request));
  } catch {
    return (await caches.match(SITE.shell)) || Response.error();
  }
}

function soon(request) {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error("no answer")), SITE.patience);
    fetch(request).then(resolve, reject).finally(() => clearTimeout(timer));
  });
}

// A name that holds a hash never means anything else; any other one is asked for first.
async function file(request) {
  const kept = async () => (await caches.open(CACHE)).match(request);
  if (SITE.lasting) return (await kept()) || fetch(request);
  try {
    return await fetch(request);
  } catch (problem) {
    const found = await kept();
    if (found) return found;
    throw problem;
  }
}
