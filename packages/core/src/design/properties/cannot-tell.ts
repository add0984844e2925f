import { describeAliased } from '../../fit/aliased.ts';
import type { AliasMatrix } from './alias-matrix.ts';
import type { DfBudget } from './degrees-of-freedom.ts';
import type { DesignInformation } from './design-information.ts';
import type { LostCell } from './lost-cell.ts';
import type { TermPair } from './term-correlation.ts';

/** A thing the design cannot tell, in a whole sentence. */
export interface CannotTell {
  readonly kind:
    | 'aliased'
    | 'confused-with-left-out'
    | 'no-error-df'
    | 'few-error-df'
    | 'no-pure-error'
    | 'nearly-aliased'
    | 'hangs-on-one-run';
  readonly words: string;
}

const FEW_DF = 3; // below this a t interval is more than twice as wide as with many df

/** What a design cannot tell, worst first, in plain words; empty when nothing is amiss. */
export function cannotTell(
  information: DesignInformation,
  seen: {
    readonly budget: DfBudget;
    readonly aliases: AliasMatrix;
    readonly pairs: readonly TermPair[];
    readonly lost: readonly LostCell[];
  },
): CannotTell[] {
  return [
    ...aliasedWords(information),
    ...leftOutWords(seen.aliases),
    ...dfWords(information, seen.budget),
    ...pairWords(seen.pairs),
    ...lostWords(seen.lost),
  ];
}

function aliasedWords({ aliased, names }: DesignInformation): CannotTell[] {
  if (!aliased) return [];
  return [
    { kind: 'aliased', words: `These runs cannot tell: ${describeAliased(aliased, names)}.` },
  ];
}

function leftOutWords({ estimated, leftOut, weights }: AliasMatrix): CannotTell[] {
  return estimated.flatMap((name, i) => {
    const whole = leftOut.filter(
      (_, j) => Math.abs(weights.data[i * weights.cols + j]!) > 1 - 1e-6,
    );
    if (whole.length === 0 || name === 'intercept') return [];
    const shown = whole.slice(0, 4).join(', ');
    const more = whole.length > 4 ? ` and ${whole.length - 4} more` : '';
    return [
      {
        kind: 'confused-with-left-out' as const,
        words: `An effect of ${name} cannot be told from one of ${shown}${more}, which the model leaves out.`,
      },
    ];
  });
}

function dfWords({ names, termCount }: DesignInformation, budget: DfBudget): CannotTell[] {
  return budget.strata.flatMap((stratum, level): CannotTell[] => {
    const judged = names.filter((name, column) => {
      return column < termCount && budget.stratumOf[column] === level && name !== 'intercept';
    });
    if (judged.length === 0) return [];
    const which = `${judged.slice(0, 4).join(', ')}${judged.length > 4 ? ` and ${judged.length - 4} more` : ''}`;
    const where = stratum.name === 'cells' ? 'runs' : stratum.name;
    if (stratum.error <= 0) {
      return [
        {
          kind: 'no-error-df',
          words: `No degrees of freedom are left between ${where} to judge ${which}: the ${stratum.units} ${where} are used up by the model. Add ${where} or drop terms.`,
        },
      ];
    }
    const out: CannotTell[] = [];
    if (stratum.error < FEW_DF) {
      const left =
        stratum.error === 1 ? '1 degree of freedom is' : `${stratum.error} degrees of freedom are`;
      out.push({
        kind: 'few-error-df',
        words: `Only ${left} left between ${where} to judge ${which}: only very large effects will show.`,
      });
    }
    if (stratum.pureError === 0) {
      out.push({
        kind: 'no-pure-error',
        words: `No setting is repeated between ${where}, so noise there cannot be told from a model that does not fit.`,
      });
    }
    return out;
  });
}

function pairWords(pairs: readonly TermPair[]): CannotTell[] {
  return pairs
    .filter(({ correlation }) => Math.abs(correlation) > 0.9 && Math.abs(correlation) < 1 - 1e-9)
    .map(({ first, second, correlation }) => ({
      kind: 'nearly-aliased' as const,
      words: `${first} and ${second} nearly move together (correlation ${correlation.toFixed(2)}); their effects will be hard to tell apart.`,
    }));
}

function lostWords(lost: readonly LostCell[]): CannotTell[] {
  const fatal = lost.filter((cell) => cell.kind === 'loses-terms');
  const [first] = fatal;
  if (first?.kind !== 'loses-terms') return [];
  const runs =
    fatal.length === lost.length
      ? 'any one run'
      : `run ${fatal
          .map(({ run }) => run)
          .slice(0, 6)
          .join(', ')}${fatal.length > 6 ? ` and ${fatal.length - 6} more` : ''}`;
  const many = fatal.length > 1 && fatal.length < lost.length ? 'any of ' : '';
  const terms = first.terms.slice(0, 4).join(', ');
  return [
    {
      kind: 'hangs-on-one-run',
      words: `If ${many}${runs} fails, not all terms can be estimated any more (${terms}${first.terms.length > 4 ? ' and others' : ''}).`,
    },
  ];
}
