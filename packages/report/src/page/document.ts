import { type Content, html, type Markup } from '../markup/markup.ts';

/** A whole document that fetches nothing: the policy forbids it even to a faulty script. */
export function documentText(
  {
    title,
    style,
    hasScript,
  }: { readonly title: string; readonly style: Markup; readonly hasScript: boolean },
  ...body: Content[]
): string {
  const script = hasScript ? "script-src 'unsafe-inline'" : "script-src 'none'";
  const policy = `default-src 'none'; style-src 'unsafe-inline'; ${script}; base-uri 'none'; form-action 'none'`;
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>${title}</title>
<style>${style}</style>
</head>
<body>
${body}</body>
</html>
`.text;
}
