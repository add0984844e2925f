import type { DesignRun } from '../design/design.ts';
import { shuffled, type Uniform } from '../random/uniform.ts';

/**
 * The freedom of a run order: runs inside sub-whole plots inside whole plots inside blocks. A
 * branch's children may be put in any order; blocks stay in theirs. Leaves are indices of runs.
 */
export type RunTree = number | RunBranch;
export interface RunBranch {
  children: RunTree[];
  readonly isFixed: boolean;
}

/**
 * The tree of a design's runs.
 *
 * @param keepPlots - false frees every run inside its block
 */
export function runTree(runs: readonly DesignRun[], keepPlots: boolean): RunBranch {
  const indices = runs.map((_, i) => i);
  const blocks = grouped(indices, (i) => runs[i]!.block).sort(
    (a, b) => runs[a[0]!]!.block - runs[b[0]!]!.block,
  );
  const branch = (children: RunTree[]): RunTree =>
    children.length === 1 ? children[0]! : { children, isFixed: false };
  const children = blocks.map((block): RunTree => {
    if (!keepPlots) return branch(block);
    const plots = grouped(block, (i) => runs[i]!.wholePlot ?? `run ${i}`);
    return branch(
      plots.map((plot) =>
        branch(grouped(plot, (i) => runs[i]!.subWholePlot ?? `run ${i}`).map(branch)),
      ),
    );
  });
  return { children, isFixed: true };
}

function grouped<K>(items: readonly number[], key: (item: number) => K): number[][] {
  const groups = new Map<K, number[]>();
  for (const item of items) {
    const group = groups.get(key(item));
    if (group) group.push(item);
    else groups.set(key(item), [item]);
  }
  return [...groups.values()];
}

/** A copy of the tree with every free branch in random order. */
export function shuffledTree(tree: RunBranch, uniform: Uniform): RunBranch {
  const children = tree.children.map((child) =>
    typeof child === 'number' ? child : shuffledTree(child, uniform),
  );
  return { ...tree, children: tree.isFixed ? children : shuffled(children, uniform) };
}

/** The leaves from first to last, written into `target`. */
export function leavesInto(target: Int32Array, tree: RunTree): Int32Array {
  let at = 0;
  const visit = (node: RunTree): void => {
    if (typeof node === 'number') target[at++] = node;
    else for (const child of node.children) visit(child);
  };
  visit(tree);
  return target;
}

/** Every branch whose children may change places. */
export function freeBranches(tree: RunTree): RunBranch[] {
  if (typeof tree === 'number') return [];
  const below = tree.children.flatMap(freeBranches);
  return tree.isFixed || tree.children.length < 2 ? below : [tree, ...below];
}
