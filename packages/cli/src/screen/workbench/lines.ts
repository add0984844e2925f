import { type Line, line, span, wrapped } from '../../terminal/line.ts';
import type { Theme } from '../../theme.ts';
import type { FoundStudy } from '../../workbench/found-studies.ts';
import { framed, keyLines, type ScreenSize } from '../frame.ts';
import { stageCommands, type Workbench, workbenchKeys } from './state.ts';

/** The workbench as lines: studies with their stage and the one next action each. */
export function workbenchLines(screen: Workbench, size: ScreenSize, theme: Theme): Line[] {
  const { columns, rows } = size;
  const head = line(headWords(screen), 'strong');
  const body = bodyLines(screen, columns, Math.max(3, rows - 7), theme);
  return framed(
    { head, body, notice: screen.notice, foot: footLines(screen, columns) },
    size,
    theme,
  );
}

function headWords({ mode, studies, at }: Workbench): string {
  const study = studies[at];
  if (mode === 'stages' && study?.kind === 'study')
    return ` strandwise · ${study.name} · any stage`;
  return mode === 'naming' ? ' strandwise · new study' : ' strandwise · studies';
}

function bodyLines(screen: Workbench, columns: number, room: number, theme: Theme): Line[] {
  if (screen.mode === 'naming')
    return [
      line(),
      line('   Name of the file; ".strandwise" is added.'),
      [span('   > ', 'strong'), span(`${screen.typed}_`)],
    ];
  if (screen.mode === 'stages')
    return [
      line(),
      ...stageCommands.map(({ stage, says }, i): Line => {
        const isHere = i === screen.stageAt;
        return [
          span(` ${isHere ? '>' : ' '} ${stage.padEnd(10)}`, isHere ? 'strong' : 'plain'),
          span(says),
        ];
      }),
    ];
  if (screen.studies.length === 0) return welcomeLines(columns);
  return studyList(screen, columns, room, theme);
}

function welcomeLines(columns: number): Line[] {
  const told = (text: string): Line[] => wrapped(text, columns - 3, 3).map((t) => line(t));
  return [
    line(),
    ...told('No study in this folder yet.'),
    line(),
    [
      span('   enter', 'strong'),
      span('  runs the demo: an invented grade from plan to recipe, in seconds'),
    ],
    [span('   n    ', 'strong'), span('  starts a study of your own: grade, line, target')],
    [
      span('   v    ', 'strong'),
      span('  practises the walk on the virtual line, failures included'),
    ],
    line(),
    ...told('Strandwise tells people what to set; it never drives heaters or motors.'),
  ];
}

/** Two lines a study: its name with stage, and what it waits for. */
function studyList(
  { studies, at }: Workbench,
  columns: number,
  room: number,
  theme: Theme,
): Line[] {
  const shown = Math.max(1, Math.floor(room / 3));
  const first = Math.max(0, Math.min(at - Math.floor(shown / 2), studies.length - shown));
  return [
    ...(first > 0 ? [line(`   ${theme.glyphs.ellipsis} ${first} more above`, 'quiet')] : [line()]),
    ...studies
      .slice(first, first + shown)
      .flatMap((study, i) => studyLines(study, first + i === at, columns, theme)),
    ...(first + shown < studies.length
      ? [line(`   ${theme.glyphs.ellipsis} ${studies.length - first - shown} more below`, 'quiet')]
      : []),
  ];
}

function studyLines(study: FoundStudy, isHere: boolean, columns: number, theme: Theme): Line[] {
  const mark = span(` ${isHere ? '>' : ' '} `, 'strong');
  const role = isHere ? 'strong' : 'plain';
  if (study.kind === 'unreadable')
    return [
      [mark, span(study.shown, role)],
      line(`     cannot be read: ${study.says}`, 'warning'),
      line(),
    ];
  const width = Math.max(12, Math.min(44, columns - 36));
  const name =
    [...study.name].length > width
      ? `${[...study.name].slice(0, width - 1).join('')}${theme.glyphs.ellipsis}`
      : study.name;
  return [
    [
      mark,
      span(name.padEnd(width + 2), role),
      span(study.next.stage.padEnd(9), 'good'),
      span(study.shown.replace(/\.strandwise$/, ''), 'quiet'),
    ],
    [
      span('     '),
      span(`next  ${study.next.says}`),
      ...(study.isInvented ? [span('   invented example', 'quiet')] : []),
    ],
    line(),
  ];
}

function footLines({ mode, studies }: Workbench, columns: number): Line[] {
  if (mode === 'naming')
    return keyLines(
      [
        ['enter', 'goes on to the questions'],
        ['esc', 'back'],
      ],
      columns,
    );
  if (mode === 'stages')
    return keyLines(
      [
        ['enter', 'open'],
        ['up/down', 'choose'],
        ['esc', 'back'],
        ['q', 'leave'],
      ],
      columns,
    );
  const first: (readonly [string, string])[] =
    studies.length === 0
      ? [['enter', 'run the demo']]
      : [
          ['enter', 'do what comes next'],
          ['up/down', 'choose'],
        ];
  return keyLines(
    [...first, ...workbenchKeys.map(([letter, , says]) => [letter, says] as const)],
    columns,
  );
}
