import { panelFromJson } from '../panel-json.ts';
import { panelDataId, panelLinkId, panelRootId } from '../panel-model.ts';
import { mountPanel } from './panel.ts';

// Runs once, at the end of the page. Without its place or its data there is nothing to show.
const root = document.getElementById(panelRootId);
const data = document.getElementById(panelDataId)?.textContent;
if (root && data) {
  mountPanel(root, panelFromJson(data));
  root.closest('section')?.removeAttribute('hidden');
  document.getElementById(panelLinkId)?.removeAttribute('hidden');
}
