package read

import (
	"fmt"
	"testing"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/pids/dtc"
)

// A reply that lost its header on the way makes no ECU without a name.
func TestNamed(t *testing.T) {
	for want, ids := range map[string][]string{"[7E8 7E9]": {"7E9", "", "7E8"}, "[]": {""}, "[7E8]": {"7E8"}} {
		if got := fmt.Sprint(named(ids)); got != want {
			t.Errorf("%q: %s, want %s", ids, got, want)
		}
	}
}

// An ECU that counts more stored codes than it reported has lost some on the way: a lost reply
// looks like an empty list on the older buses.
func TestWeighCount(t *testing.T) {
	stored, pending := check.Code{Code: "P0304", State: dtc.Stored}, check.Code{Code: "P0302", State: dtc.Pending}
	for _, c := range []struct {
		codes             []check.Code
		repeated, counted int
		want              check.Outcome
	}{
		{nil, 0, 0, check.Of(check.Read)},
		{nil, 0, 1, check.Outcome{Kind: check.FewerReported, N: 0, Of: 1}},
		{[]check.Code{stored, pending}, 0, 1, check.Of(check.Read)},
		{[]check.Code{stored, pending}, 0, 2, check.Outcome{Kind: check.FewerReported, N: 1, Of: 2}},
		{[]check.Code{stored}, 1, 2, check.Of(check.Read)},
		{[]check.Code{stored, {Code: "P0741", State: dtc.Stored}}, 0, 1, check.Of(check.Read)}, // the count may be of those that light the lamp
	} {
		r := &check.Report{}
		e := r.ECU("7E8")
		e.Codes, e.CodesCounted = c.codes, c.counted
		e.Lists = check.Lists{check.ListStored: check.Of(check.Read), check.ListPending: check.Of(check.Read), check.ListPermanent: check.Of(check.NotSupported)}
		lists := &codeLists{asker: &asker{r: r}, repeated: map[string]int{"7E8": c.repeated}}
		if lists.weighCount(e); e.Lists[check.ListStored] != c.want || (c.want.Kind == check.Read) != (len(e.Unread) == 0) {
			t.Errorf("%v, %d counted: %v, not read %v", c.codes, c.counted, e.Lists, e.Unread)
		}
	}
}

// An ECU whose only self-test is that of its components has no results to lose when it is silent
// to service 06 (SAE J1979).
func TestTests_State(t *testing.T) {
	silent := check.Note{Item: check.Item{Kind: check.ItemTestMap}, Outcome: check.Of(check.MapSilent)}
	for _, c := range []struct {
		name string
		have bool
		lost map[string]check.Note
		want check.Note
	}{
		{"components alone", false, map[string]check.Note{"7E9": silent}, check.Note{Outcome: check.Of(check.Read)}},
		{"misfire as well", true, map[string]check.Note{"7E9": silent}, silent},
		{"not lost", true, nil, check.Note{Outcome: check.Of(check.Read)}},
	} {
		r := &check.Report{ECUs: []check.ECU{{ID: "7E9"}}}
		tests := &tests{asker: &asker{r: r}}
		if c.have {
			tests.has("7E9")
		}
		if tests.state(claims{lost: c.lost}); r.ECUs[0].TestState != c.want {
			t.Errorf("%s: %v", c.name, r.ECUs[0].TestState)
		}
	}
}
