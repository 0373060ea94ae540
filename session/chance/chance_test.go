package chance

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// The cumulative binomial tables of statistics textbooks, four places: P(X <= c). The values are
// quoted from memory; the next test has every value from a library.
func TestAtLeast_PublishedTable(t *testing.T) {
	for _, c := range []struct {
		n, c   int
		p      float64
		atMost float64
	}{
		{10, 2, 0.2, 0.6778},
		{10, 3, 0.3, 0.6496},
		{10, 7, 0.5, 0.9453},
		{15, 6, 0.4, 0.6098},
		{20, 2, 0.1, 0.6769},
		{20, 5, 0.25, 0.6172},
	} {
		if got := 1 - AtLeast(c.c+1, c.n, c.p); math.Abs(got-c.atMost) > 0.00005 {
			t.Errorf("n %d, p %g: P(X <= %d) is %.5f, the table has %.4f", c.n, c.p, c.c, got, c.atMost)
		}
	}
}

// gonum's binomial distribution, by the incomplete beta function.
func TestAtLeast_Library(t *testing.T) {
	for n := 1; n <= 60; n += 7 {
		for _, p := range []float64{0.01, 0.2, 0.5, 0.93} {
			for k := 0; k <= n; k++ {
				want := 1 - distuv.Binomial{N: float64(n), P: p}.CDF(float64(k-1))
				if got := AtLeast(k, n, p); math.Abs(got-want) > 1e-9 {
					t.Errorf("%d or more of %d at %g: %g, gonum %g", k, n, p, got, want)
				}
			}
		}
	}
}

func TestAtLeast_Edges(t *testing.T) {
	for _, c := range []struct {
		hits, trials int
		share, want  float64
	}{{0, 5, 0.1, 1}, {6, 5, 0.9, 0}, {3, 5, 0, 0}, {3, 5, 1, 1}, {0, 0, 0.5, 1}} {
		if got := AtLeast(c.hits, c.trials, c.share); got != c.want {
			t.Errorf("%d of %d at %g: %g, want %g", c.hits, c.trials, c.share, got, c.want)
		}
	}
}

// Fisher's own examples: the lady who tastes tea (The Design of Experiments, 1935): 1 in 70 for
// all four cups, 17 in 70 for three or more; and the twins of convicts (Statistical Methods for
// Research Workers): 10 of 13 and 2 of 17, 619 in 1330665.
func TestFewer_Fisher(t *testing.T) {
	for _, c := range []struct {
		table Table
		want  float64
	}{
		{Table{4, 4, 0, 4}, 1. / 70},
		{Table{3, 4, 1, 4}, 17. / 70},
		{Table{10, 13, 2, 17}, 619. / 1330665},
		{Table{5, 6, 0, 8}, 6. / 2002}, // by hand: 6 choices of 5 before among all 2002 choices of 5 in 14
		{Table{0, 5, 0, 5}, 1},
		{Table{3, 3, 0, 0}, 1},
	} {
		if got := c.table.Fewer(); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%+v: %g, want %g", c.table, got, c.want)
		}
	}
}

func TestMoreOf(t *testing.T) {
	for _, c := range []struct {
		tables      []Table
		more, where int
		ok          bool
	}{
		{[]Table{{5, 6, 0, 8}}, 0, 0, true},
		{[]Table{{3, 3, 0, 3}}, 1, 0, true}, // 1 in 20 is not below 5 %, 1 in 35 is
		{[]Table{{3, 3, 0, 4}}, 0, 0, true},
		{[]Table{{1, 1, 0, 0}}, 20, 0, true}, // 1 in 21
		{[]Table{{0, 6, 0, 8}}, 0, 0, false}, // nothing to compare
		{[]Table{{5, 6, 1, 8}}, 0, 0, false}, // still there
		{nil, 0, 0, false},
		// 1 in 5 × 2 in 4 = 1 in 10. One more pass in the second: 1 in 15 × 2 in 4 = 1 in 30.
		{[]Table{{0, 4, 0, 3}, {4, 4, 0, 1}, {1, 2, 0, 2}}, 1, 1, true},
	} {
		more, where, ok := MoreOf(c.tables)
		if more != c.more || where != c.where || ok != c.ok {
			t.Errorf("%+v: %d in %d, %v; want %d in %d, %v", c.tables, more, where, ok, c.more, c.where, c.ok)
		}
		if c.ok && Gone(All(c.tables)) != (more == 0) {
			t.Errorf("%+v: %g", c.tables, All(c.tables))
		}
	}
}

// Where the conditions differ, passes must not be put together: four of four in one and a single quiet
// pass there show little, however many were quiet elsewhere (Simpson's paradox).
func TestAll(t *testing.T) {
	apart := []Table{{0, 4, 0, 30}, {4, 4, 0, 1}}
	if got := All(apart); math.Abs(got-1./5) > 1e-12 || Gone(got) {
		t.Errorf("apart %g, want 1 in 5", got)
	}
	if together := (Table{4, 8, 0, 31}).Fewer(); !Gone(together) {
		t.Errorf("together %g: the example shows nothing", together)
	}
}
