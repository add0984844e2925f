import type { LivePanel } from '../live-panel.ts';
import type { MapView } from '../panel-map.ts';

/** The choice of what the map shows: a response or the chance, over two factors. */
export interface MapChoice {
  readonly node: HTMLElement;
  view(): MapView | undefined;
}

/** The value of the option that shows the chance; no response can be called so, as names are not empty. */
const ofChance = '';

/** Lists to choose from; nothing where the panel has no map. */
export function mapChoice({ model, surfaces, chance }: LivePanel, onChange: () => void): MapChoice {
  const node = document.createElement('fieldset');
  node.className = 'try-map-choice';
  const { map } = model;
  const factors = model.factors.flatMap((factor) => ('low' in factor ? [factor.name] : []));
  if (!map || factors.length < 2) return { node, view: () => map };
  const legend = document.createElement('legend');
  legend.textContent = 'Map';
  const shows = list('of', [
    ...surfaces.map(({ surface }) => [surface.name, surface.name] as const),
    ...(chance ? [[ofChance, 'chance of conforming'] as const] : []),
  ]);
  const named = factors.map((name) => [name, name] as const);
  const [across, up] = [list('across', named), list('up', named)];
  shows.input.value = map.response;
  across.input.value = map.x;
  up.input.value = map.y;
  let axes = [map.x, map.y] as const;
  const changed = (): void => {
    // A factor asked for on both axes changes places with the one it drives out.
    if (across.input.value === up.input.value) {
      const moved = across.input.value !== axes[0] ? up : across;
      moved.input.value = moved === up ? axes[0] : axes[1];
    }
    axes = [across.input.value, up.input.value];
    onChange();
  };
  for (const { input } of [shows, across, up]) input.addEventListener('change', changed);
  node.append(legend, shows.node, across.node, up.node);
  return {
    node,
    view: () => ({
      response: shows.input.value === ofChance ? null : shows.input.value,
      x: axes[0],
      y: axes[1],
    }),
  };
}

function list(name: string, options: readonly (readonly [value: string, says: string])[]) {
  const input = document.createElement('select');
  input.id = `try-map-${name}`;
  input.append(...options.map(([value, says]) => new Option(says, value)));
  const label = document.createElement('label');
  label.htmlFor = input.id;
  label.textContent = name;
  const node = document.createElement('span');
  node.append(label, ' ', input);
  return { node, input };
}
