// Package chance has the two exact tests of a road test: how likely so many hits are by luck alone,
// and how likely a difference between two drives is where nothing changed. No approximation is in
// them, so that small counts can be checked by hand.
package chance

import "math"

// AtLeast is the probability of hits or more successes in trials that succeed with probability
// share each (binomial distribution). hits <= 0 gives 1, hits > trials gives 0.
func AtLeast(hits, trials int, share float64) float64 {
	switch {
	case hits <= 0:
		return 1
	case hits > trials:
		return 0
	case share <= 0:
		return 0
	case share >= 1:
		return 1
	}
	sum := 0.0
	for k := hits; k <= trials; k++ {
		sum += math.Exp(choose(trials, k) + float64(k)*math.Log(share) + float64(trials-k)*math.Log1p(-share))
	}
	return min(sum, 1)
}

// Table is a two-by-two table: how many passes shuddered of how many, before and after a repair.
type Table struct {
	Before, BeforeOf int
	After, AfterOf   int
}

// Fewer is the probability of so few shuddering passes after as there were, or fewer, if the repair
// changed nothing: Fisher's exact test, one-sided, with the sums of the table held. 1 where a drive
// has no passes.
func (t Table) Fewer() float64 {
	if t.BeforeOf <= 0 || t.AfterOf <= 0 {
		return 1
	}
	all, hits := t.BeforeOf+t.AfterOf, t.Before+t.After
	sum := 0.0
	for k := max(0, hits-t.BeforeOf); k <= t.After; k++ {
		sum += math.Exp(choose(t.AfterOf, k) + choose(t.BeforeOf, hits-k) - choose(all, hits))
	}
	return min(sum, 1)
}

// Below is how small a probability must be before a difference counts (common practice).
const Below = 0.05

// rounding is more than the sums above can be off: 1 in 20 is not below 5 %.
const rounding = 1e-9

// mostMore is how many passes more are looked at: nobody drives as many.
const mostMore = 500

// Gone reports whether a probability is so small that chance is no likely reason.
func Gone(p float64) bool { return p < Below-rounding }

// All is the probability for several tables, one for each set of operating conditions, in which no pass
// shuddered after: the product of theirs. Conditions in which nothing shuddered before add nothing.
func All(tables []Table) float64 {
	p := 1.0
	for _, t := range tables {
		p *= t.Fewer()
	}
	return p
}

// MoreOf is how many quiet passes are still needed, and in which of the tables they count most. ok is
// false when no number of passes can show it: the shudder is still there, or was never there.
func MoreOf(tables []Table) (n, where int, ok bool) {
	all := All(tables)
	for i, t := range tables {
		if t.After > 0 {
			return 0, 0, false
		}
		others := all / t.Fewer()
		for more := range mostMore {
			next := t
			next.AfterOf += more
			if Gone(others * next.Fewer()) {
				if !ok || more < n {
					n, where, ok = more, i, true
				}
				break
			}
		}
	}
	return n, where, ok
}

// More is MoreOf for one table.
func (t Table) More() (n int, ok bool) {
	n, _, ok = MoreOf([]Table{t})
	return n, ok
}

// Gone reports whether no pass shuddered after, and chance is no likely reason for that.
func (t Table) Gone() bool {
	n, ok := t.More()
	return ok && n == 0
}

// choose is the natural logarithm of the number of ways to pick k of n; -Inf where there is none.
func choose(n, k int) float64 {
	if k < 0 || k > n {
		return math.Inf(-1)
	}
	return logFactorial(n) - logFactorial(k) - logFactorial(n-k)
}

func logFactorial(n int) float64 {
	v, _ := math.Lgamma(float64(n) + 1)
	return v
}
