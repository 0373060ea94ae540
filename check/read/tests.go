package read

import (
	"fmt"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids/monitor"
)

// tests reads the results of service 06, monitor by monitor as each ECU supports it (SAE J1979).
type tests struct {
	*asker
	have map[string]bool // ECUs with self-tests that have results
}

// has keeps that an ECU has self-tests whose results service 06 reports: not that of its
// components alone, which has none.
func (t *tests) has(ecu string) {
	if t.have == nil {
		t.have = map[string]bool{}
	}
	t.have[ecu] = true
}

func (t *tests) read() error {
	switch {
	case t.successor:
		why := check.Of(check.NotOnSuccessor)
		t.note("", check.Item{Kind: check.ItemAllTests}, why)
		for i := range t.r.ECUs {
			t.r.ECUs[i].TestState = check.Note{Outcome: why}
		}
		return nil
	case !t.can:
		t.note("", check.Item{Kind: check.ItemMisfires}, check.Of(check.NotOnThisBus))
		return t.results(check.ItemTest, func(data []byte) []byte { return data[len(data)-4:] }, t.legacyResult) // a filling byte may be before them
	}
	return t.results(check.ItemMonitor, func(data []byte) []byte { return data[2:6] }, t.result)
}

// results asks for the results of every id that an ECU claims.
func (t *tests) results(kind check.ItemKind, bits func(data []byte) []byte, take func(e *check.ECU, data []byte) error) error {
	found, err := t.supports(check.ItemTestMap, func(base byte) string { return obd.Request(0x06, base) }, func(base byte, data []byte) []byte {
		if len(data) < 6 || data[1] != base {
			return nil
		}
		return bits(data)
	})
	if err != nil {
		return err
	}
	t.state(found)
	for id := range 256 {
		t.progress(check.Item{Kind: check.StepTests}, id, 256)
		if id%0x20 == 0 || !found.maps.any(byte(id)) {
			continue
		}
		item, d := check.Item{Kind: kind, ID: byte(id)}, due{maps: found.maps, id: byte(id)}
		in, err := t.each(item, obd.Request(0x06, byte(id)), d, take)
		if err != nil {
			return err
		}
		for ecu, became := range t.missed(item, d, in) {
			t.r.ECU(ecu).TestState = check.Note{Item: item, Outcome: became}
		}
	}
	return nil
}

// state says of every ECU, once the maps are read, whether its test results can be read whole.
// Who has no results is silent (SAE J1979), and was asked twice.
func (t *tests) state(found claims) {
	for i := range t.r.ECUs {
		e := &t.r.ECUs[i]
		if e.Further() {
			continue
		}
		why, lost := found.lost[e.ID]
		if !lost || why.Outcome.Kind == check.MapSilent && !t.have[e.ID] {
			why = check.Note{Outcome: check.Of(check.Read)}
		}
		if t.r.Nameless && why.Outcome.Kind == check.Read {
			why.Outcome = check.Of(check.Mixed)
		}
		e.TestState = why
	}
}

func (t *tests) result(e *check.ECU, data []byte) error {
	results, err := monitor.ParseResults(data)
	for i := range results {
		r := &results[i]
		e.Tests = append(e.Tests, check.TestResult{
			Monitor: monitor.Name(r.Monitor), ID: check.TestID{Monitor: r.Monitor, Test: r.Test}, Test: monitor.TestName(r.Test),
			Value: r.Value, Min: r.Min, Max: r.Max, Unit: r.Unit, Outcome: verdicts[r.Outcome], Raw: fmt.Sprintf("%X", r.Raw),
		})
	}
	return err
}

var verdicts = map[monitor.Outcome]check.Verdict{
	monitor.Passed: check.Passed, monitor.Failed: check.Failed, monitor.NotRun: check.NotRun, monitor.Unknown: check.Unknown,
}

// legacyResult reads a result on the older buses, where tests, scaling and sign are the maker's:
// it is kept raw, without pass or fail.
func (t *tests) legacyResult(e *check.ECU, data []byte) error {
	l, err := monitor.ParseLegacyResult(data)
	if err != nil {
		return err
	}
	r := check.TestResult{
		Monitor: fmt.Sprintf("maker's test %02X, component %02X", l.Test, l.Component), ID: check.TestID{Monitor: l.Test, Test: l.Component},
		Value: float64(l.Value), Max: float64(l.Limit), Outcome: check.NotJudged, Raw: fmt.Sprintf("%X", data),
	}
	if l.Minimum {
		r.Min, r.Max = float64(l.Limit), 0xFFFF
	}
	e.Tests = append(e.Tests, r)
	return nil
}
