package page

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/check"
)

// tests writes results outside their limits one by one, and counts the rest.
func (p *lines) tests(list []check.TestResult) {
	counts, judged := map[check.Verdict]int{}, 0
	for i := range list {
		t := &list[i]
		if t.Unlimited() {
			continue // a count passes whatever it is
		}
		judged++
		counts[t.Outcome]++
		switch t.Outcome {
		case check.NotJudged:
			p.line("    %s: %.0f, limits %.0f to %.0f, raw", t.Monitor, t.Value, t.Min, t.Max)
		case check.Failed, check.Unknown:
			value := strings.TrimSpace(fmt.Sprintf("%.4g %s", t.Value, t.Unit))
			p.line("    %s, %s: %s, limits %.4g to %.4g, %s", t.Monitor, t.Test, value, t.Min, t.Max, t.Outcome)
		}
	}
	p.misfires(list)
	switch n := counts[check.NotJudged]; {
	case judged == 0:
		return
	case n == judged:
		p.line("  test results: %d by the maker's numbers and scaling, raw, without pass or fail", n)
		return
	}
	p.line("  test results: %d passed, %d failed, %d not run since cleared, %d unreadable", counts[check.Passed], counts[check.Failed], counts[check.NotRun], counts[check.Unknown])
}

// misfires puts the cylinders' counts side by side: this or the last drive cycle, and the
// average of ten.
func (p *lines) misfires(list []check.TestResult) {
	var row []string
	for i := range list {
		t := &list[i]
		if t.Misfires() == 0 || t.ID.Test != check.MisfireCurrent {
			continue
		}
		average := "–"
		for k := range list {
			if a := &list[k]; a.ID.Monitor == t.ID.Monitor && a.ID.Test == check.MisfireAverage {
				average = fmt.Sprintf("%.0f", a.Value)
			}
		}
		row = append(row, fmt.Sprintf("cylinder %d: %.0f (%s)", t.Misfires(), t.Value, average))
	}
	if len(row) > 0 {
		p.line("  misfires this or the last drive cycle, in brackets the average of ten:")
		p.line("    %s", strings.Join(row, "   "))
		p.line("    a single count is no evidence of a misfire (common practice, no source)")
	}
}
