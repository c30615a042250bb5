/** Stands for the nonce in the built page: the build writes it wherever the page has scripts or styles of its own. */
export const noncePlaceholder = 'CHAMBERSIDE_NONCE';

/** Name of the `meta` element with the window's secret. */
export const windowMetaName = 'chamberside-window';

/** Where a page goes that has no secret: opened by its bare address, not by one that the host has given out. */
export const unknownWindowPath = '/unknown-window';

/** Headers that everything served carries. */
export const commonHeaders: Readonly<Record<string, string>> = {
  'Cache-Control': 'no-store',
  'X-Content-Type-Options': 'nosniff',
  'X-Frame-Options': 'DENY',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Resource-Policy': 'same-origin',
  'Permissions-Policy': 'camera=(), microphone=(), geolocation=(), usb=(), serial=(), payment=()',
};

/** The policy of the program's page. @param host `127.0.0.1:PORT` */
export function pagePolicy(nonce: string, host: string): string {
  return [
    "default-src 'none'",
    `script-src 'self' 'nonce-${nonce}'`,
    `style-src 'self' 'nonce-${nonce}'`,
    "font-src 'self'",
    "img-src 'self' data:",
    `connect-src 'self' ws://${host}`,
    "worker-src 'self'",
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ].join('; ');
}

/** The policy of a page of plain words. */
export function plainPolicy(nonce: string): string {
  return [
    "default-src 'none'",
    `style-src 'nonce-${nonce}'`,
    'img-src data:',
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ].join('; ');
}

/**
 * Keeps the secret in the window's own storage, which no other port can read, and takes it from there when the page is
 * loaded again. Runs before the program's scripts, which find the secret in the `meta` element either way.
 */
const keepSecret = [
  '(function(){',
  `var meta=document.querySelector('meta[name="${windowMetaName}"]'),name='${windowMetaName}';`,
  'if(meta.content)sessionStorage.setItem(name,meta.content);',
  "else meta.content=sessionStorage.getItem(name)||'';",
  `if(!meta.content)location.replace('${unknownWindowPath}');`,
  '})();',
].join('');

/**
 * The built page for one window.
 * @param secret null when the window has one already, from before it was loaded again.
 */
export function windowPage(page: string, nonce: string, secret: string | null): string {
  const head = [
    `<meta name="${windowMetaName}" content="${secret ?? ''}">`,
    `<script nonce="${nonce}">${keepSecret}</script>`,
  ].join('');
  // A function, because a replacement text gives `$` a meaning.
  return page.replace(/<head[^>]*>/i, (tag) => `${tag}${head}`).replaceAll(noncePlaceholder, nonce);
}

/** A page of plain words. @param words each a paragraph, without markup. */
export function plainPage(
  title: string,
  words: readonly string[],
  nonce: string,
  refresh: string | null = null,
): string {
  const escaped = (text: string): string =>
    text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
  return [
    '<!doctype html><html lang="en"><head><meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width">',
    ...(refresh === null ? [] : [`<meta http-equiv="refresh" content="0;url=${refresh}">`]),
    // An icon of no bytes, so that the browser asks for none.
    `<link rel="icon" href="data:,"><title>${escaped(title)}</title>`,
    `<style nonce="${nonce}">:root{color-scheme:light dark}`,
    'body{font:1.125rem/1.5 system-ui,sans-serif;max-width:36rem;margin:12vh auto;padding:0 1.5rem}</style></head>',
    `<body><main><h1>${escaped(title)}</h1>`,
    ...words.map((text) => `<p>${escaped(text)}</p>`),
    '</main></body></html>\n',
  ].join('');
}
