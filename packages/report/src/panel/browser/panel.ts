import type { SetPoints } from '@strandwise/core';
import { contourFigure } from '../../figure/contour.ts';
import { livePanel } from '../live-panel.ts';
import { panelMap } from '../panel-map.ts';
import type { PanelModel, PanelSetting } from '../panel-model.ts';
import { panelReading } from '../panel-prediction.ts';
import { readingMarkup, spokenReading } from '../panel-words.ts';
import { type ControlView, controlView } from './control.ts';
import { mapChoice } from './map-choice.ts';

/** Builds the panel inside `root` and keeps it up to date with its controls. */
export function mountPanel(root: HTMLElement, model: PanelModel): void {
  const live = livePanel(model);
  let setPoints = model.start;
  const readings = document.createElement('div');
  const map = document.createElement('div');
  map.className = 'plate map half';
  const spoken = document.createElement('p');
  spoken.className = 'try-spoken';
  spoken.setAttribute('role', 'status');

  let isDrawing = false;
  const draw = (): void => {
    isDrawing = false;
    const reading = panelReading(live, setPoints);
    // Both strings come from the escaping templates of this package, never from a person's text.
    readings.innerHTML = readingMarkup(reading, model).text;
    const contour = panelMap(live, setPoints, choice.view());
    map.hidden = contour === null || reading.kind === 'refused';
    if (contour) map.innerHTML = contourFigure(contour, 'try-map');
  };
  const redraw = (): void => {
    if (isDrawing) return;
    isDrawing = true;
    requestAnimationFrame(draw);
  };

  const choice = mapChoice(live, () => {
    draw();
    spoken.textContent = `The map shows ${panelMap(live, setPoints, choice.view())?.title ?? 'nothing'}.`;
  });

  const views: ControlView[] = model.controls.map((control, i) =>
    controlView(control, `try-${i + 1}`, {
      onMove: (value) => {
        setPoints = withSetting(setPoints, control.sets, value);
        redraw();
      },
      // Said once a control comes to rest, not at every step of the way.
      onRest: () => {
        spoken.textContent = spokenReading(panelReading(live, setPoints));
      },
    }),
  );
  const showAll = (): void => {
    for (const [i, view] of views.entries())
      view.show(settingOf(setPoints, model.controls[i]!.sets));
  };
  const reset = resetButton(() => {
    setPoints = model.start;
    showAll();
    draw();
    spoken.textContent = `Back at the recommended settings. ${spokenReading(panelReading(live, setPoints))}`;
  });

  root.replaceChildren(fieldset(views), reset, readings, choice.node, map, spoken);
  showAll();
  draw();
}

function fieldset(views: readonly ControlView[]): HTMLElement {
  const set = document.createElement('fieldset');
  set.className = 'try-controls';
  const legend = document.createElement('legend');
  legend.textContent = 'Set points';
  set.append(legend, ...views.map(({ node }) => node));
  return set;
}

function resetButton(onPress: () => void): HTMLElement {
  const button = document.createElement('button');
  button.type = 'button';
  button.textContent = 'Back to the recommended settings';
  button.addEventListener('click', onPress);
  return button;
}

function settingOf(setPoints: SetPoints, sets: PanelSetting): number | string {
  switch (sets.kind) {
    case 'zone':
      return setPoints.zonesCelsius[sets.zone] ?? Number.NaN;
    case 'screw':
      return setPoints.screwRpm;
    case 'fan':
      return setPoints.fanPercent;
    case 'other':
      return setPoints.other[sets.name] ?? Number.NaN;
  }
}

function withSetting(setPoints: SetPoints, sets: PanelSetting, value: number | string): SetPoints {
  switch (sets.kind) {
    case 'zone':
      return { ...setPoints, zonesCelsius: setPoints.zonesCelsius.with(sets.zone, Number(value)) };
    case 'screw':
      return { ...setPoints, screwRpm: Number(value) };
    case 'fan':
      return { ...setPoints, fanPercent: Number(value) };
    case 'other':
      return { ...setPoints, other: { ...setPoints.other, [sets.name]: value } };
  }
}
