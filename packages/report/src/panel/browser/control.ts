import type { PanelControl } from '../panel-model.ts';

/** A control on the page. */
export interface ControlView {
  readonly node: HTMLElement;
  show(value: number | string): void;
}

export interface ControlEvents {
  /** At every step of a change. */
  onMove(value: number | string): void;
  /** When the control comes to rest. */
  onRest(): void;
}

type NumberControl = Extract<PanelControl, { low: number }>;
type LevelControl = Extract<PanelControl, { levels: readonly string[] }>;

/** A labelled slider with a box to type in, or a list of levels. */
export function controlView(control: PanelControl, id: string, events: ControlEvents): ControlView {
  return 'levels' in control ? levelView(control, id, events) : numberView(control, id, events);
}

function numberView(control: NumberControl, id: string, events: ControlEvents): ControlView {
  const slider = numberInput('range', control);
  slider.id = id;
  const box = numberInput('number', control);
  box.setAttribute(
    'aria-label',
    `${control.name}, typed${control.unit ? `, in ${control.unit}` : ''}`,
  );
  const show = (value: number | string): void => {
    slider.value = String(value);
    box.value = String(value);
    slider.setAttribute('aria-valuetext', `${value} ${control.unit ?? ''}`.trim());
  };
  slider.addEventListener('input', () => {
    show(slider.value);
    events.onMove(slider.valueAsNumber);
  });
  box.addEventListener('change', () => {
    const value = clamped(box.valueAsNumber, control, slider.valueAsNumber);
    show(value);
    events.onMove(value);
    events.onRest();
  });
  slider.addEventListener('change', () => events.onRest());
  const unit = document.createElement('span');
  unit.textContent = control.unit ?? '';
  return { node: row(control.name, id, slider, box, unit), show };
}

function levelView(control: LevelControl, id: string, events: ControlEvents): ControlView {
  const list = document.createElement('select');
  list.id = id;
  list.append(...control.levels.map((level) => new Option(level, level)));
  list.addEventListener('change', () => {
    events.onMove(list.value);
    events.onRest();
  });
  return {
    node: row(control.name, id, list),
    show: (value) => {
      list.value = String(value);
    },
  };
}

function numberInput(
  type: 'range' | 'number',
  { low, high, step }: NumberControl,
): HTMLInputElement {
  const input = document.createElement('input');
  input.type = type;
  input.min = String(low);
  input.max = String(high);
  input.step = String(step);
  return input;
}

function clamped(value: number, { low, high }: NumberControl, otherwise: number): number {
  return Number.isFinite(value) ? Math.min(high, Math.max(low, value)) : otherwise;
}

function row(name: string, id: string, ...inputs: HTMLElement[]): HTMLElement {
  const node = document.createElement('div');
  node.className = 'try-control';
  const label = document.createElement('label');
  label.htmlFor = id;
  label.textContent = name;
  node.append(label, ...inputs);
  return node;
}
