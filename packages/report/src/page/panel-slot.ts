import { type Content, html, scriptJson, scriptText } from '../markup/markup.ts';
import { panelJson } from '../panel/panel-json.ts';
import { panelDataId, panelLinkId, panelRootId } from '../panel/panel-model.ts';
import type { StudyPageInput } from './input.ts';

/** Room for the panel; hidden until its program runs, so that a page without script misses nothing. */
export function panelSlot(panel: StudyPageInput['panel']): Content {
  if (!panel) return null;
  return html`<section id="try" class="no-print" aria-labelledby="try-heading" hidden>
<h2 id="try-heading">Try settings</h2>
<p>Move a set point and read what the models expect of it. Nothing here changes the study.</p>
<div id="${panelRootId}" class="try"></div>
</section>
<script type="application/json" id="${panelDataId}">${scriptJson(panelJson(panel.data))}</script>\n`;
}

/** Its line in the contents, hidden along with it. */
export function panelLink(panel: StudyPageInput['panel']): Content {
  return panel && html`<li id="${panelLinkId}" hidden><a href="#try">Try settings</a></li>\n`;
}

/** The panel's program, placed last so that the page is there when it starts. */
export function panelScript(panel: StudyPageInput['panel']): Content {
  return panel && html`<script>${scriptText(panel.script)}</script>\n`;
}
