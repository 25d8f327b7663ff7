/** Distances between points, row by row: `distances[i * count + j]`. Symmetric, zero or above. */
export type DistanceTable = { readonly count: number; readonly distances: Float64Array };

/** A table of the distances between every two of `points`. */
export function distanceTable<T>(
  points: readonly T[],
  distance: (a: T, b: T) => number,
): DistanceTable {
  const count = points.length;
  const distances = new Float64Array(count * count);
  for (let i = 0; i < count; i++) {
    for (let j = i + 1; j < count; j++) {
      const between = distance(points[i], points[j]);
      distances[i * count + j] = between;
      distances[j * count + i] = between;
    }
  }
  return { count, distances };
}

const ROUNDS = 120;

/**
 * A length that no path through all points can undercut, wherever it begins and ends.
 *
 * A path is a spanning tree in which two points have one neighbour and all others two. Each point is
 * given a price for its neighbours; the cheapest spanning tree under the prices, with the two cheapest
 * ends, less twice all prices, is at most the shortest path, whatever the prices (Held and Karp, The
 * traveling-salesman problem and minimum spanning trees, Operations Research 18, 1970, in the form for
 * paths). Prices are moved so that the bound rises; with none at all it is the spanning tree itself.
 */
export function pathLowerBound({ count, distances }: DistanceTable): number {
  if (count < 2) return 0;
  const prices = new Float64Array(count);
  const tree = new SpanningTree(count);
  let best = tree.grow(distances, prices);
  // Small steps towards trees that look like paths; the bound holds after every one of them.
  let step = best / count;
  for (let round = 0; round < ROUNDS; round++) {
    const excess = tree.neighbours;
    const [first, second] = twoCheapest(prices);
    let isPath = true;
    for (let i = 0; i < count; i++) {
      const ends = (i === first ? 1 : 0) + (i === second ? 1 : 0);
      const over = excess[i] + ends - 2;
      if (over !== 0) isPath = false;
      prices[i] += step * over;
    }
    if (isPath) break;
    best = Math.max(best, boundAt(tree, distances, prices));
    step *= 0.95;
  }
  return Math.max(0, best);
}

function boundAt(tree: SpanningTree, distances: Float64Array, prices: Float64Array): number {
  const [first, second] = twoCheapest(prices);
  let bound = tree.grow(distances, prices) + prices[first] + prices[second];
  for (const price of prices) bound -= 2 * price;
  return bound;
}

/** The two points with the lowest prices; of equal ones the earlier. */
function twoCheapest(prices: Float64Array): readonly [number, number] {
  let first = 0;
  let second = 1;
  if (prices[1] < prices[0]) [first, second] = [1, 0];
  for (let i = 2; i < prices.length; i++) {
    if (prices[i] < prices[first]) [first, second] = [i, first];
    else if (prices[i] < prices[second]) second = i;
  }
  return [first, second];
}

/**
 * Length of the cheapest forest of `parts` trees that touches every point: what the paths of `parts`
 * days together cannot undercut.
 */
export function forestLowerBound({ count, distances }: DistanceTable, parts: number): number {
  if (count < 2 || parts >= count) return 0;
  const tree = new SpanningTree(count);
  const length = tree.grow(distances, new Float64Array(count));
  const longest = [...tree.edges].sort((a, b) => b - a).slice(0, parts - 1);
  return Math.max(0, length - longest.reduce((sum, edge) => sum + edge, 0));
}

/** Cheapest spanning tree by growing it from the first point (Prim). */
class SpanningTree {
  /** Neighbours of each point in the tree last grown. */
  readonly neighbours: Int32Array;
  /** Lengths of its edges, prices included. */
  edges: number[] = [];
  private readonly nearest: Float64Array;
  private readonly parent: Int32Array;

  constructor(private readonly count: number) {
    this.neighbours = new Int32Array(count);
    this.nearest = new Float64Array(count);
    this.parent = new Int32Array(count);
  }

  /** Grows the tree for distances to which both ends' prices are added; gives its length. */
  grow(distances: Float64Array, prices: Float64Array): number {
    const { count, nearest, parent, neighbours } = this;
    const done = new Uint8Array(count);
    neighbours.fill(0);
    this.edges = [];
    nearest.fill(Number.POSITIVE_INFINITY);
    nearest[0] = 0;
    parent[0] = -1;
    let length = 0;
    for (let grown = 0; grown < count; grown++) {
      let next = -1;
      for (let i = 0; i < count; i++) {
        if (done[i] === 0 && (next === -1 || nearest[i] < nearest[next])) next = i;
      }
      done[next] = 1;
      if (parent[next] >= 0) {
        length += nearest[next];
        this.edges.push(nearest[next]);
        neighbours[next] += 1;
        neighbours[parent[next]] += 1;
      }
      for (let i = 0; i < count; i++) {
        if (done[i] === 1) continue;
        const edge = distances[next * count + i] + prices[next] + prices[i];
        if (edge < nearest[i]) {
          nearest[i] = edge;
          parent[i] = next;
        }
      }
    }
    return length;
  }
}
