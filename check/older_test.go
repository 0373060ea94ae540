package check

import (
	"encoding/json"
	"maps"
	"os"
	"slices"
	"testing"
)

// A check that the first version kept, of a scripted car: its words are read as facts.
func TestLoad_FirstVersion(t *testing.T) {
	r, err := Load("testdata/first-version.json")
	if err != nil {
		t.Fatal(err)
	}
	engine, other, brakes := r.Find("7E8"), r.Find("7E9"), r.Find("768")
	for _, c := range []struct {
		what      string
		got, want Lists
	}{
		{"7E8", engine.Lists, Lists{ListStored: {Kind: FewerReported, N: 2, Of: 5}, ListPending: Of(Read), ListPermanent: Of(Read)}},
		{"7E9", other.Lists, Lists{ListStored: RefusedWith(0x22), ListPending: RefusedWith(0x11), ListPermanent: Of(MaybeNotKept)}},
		{"768", brakes.Lists, Lists{ListByStatus: {Kind: FewerListed, N: 2, Of: 5}}},
	} {
		if !maps.Equal(c.got, c.want) {
			t.Errorf("%s: %+v, want %+v", c.what, c.got, c.want)
		}
	}
	notes := []Note{
		{Item{Kind: ItemVIN}, Of(SilentToClaim)}, {Item{Kind: ItemName}, Of(SilentToClaim)}, {Item{Kind: ItemStored}, Outcome{Kind: FewerReported, N: 2, Of: 5}},
		{Item{Kind: ItemFreezeParameter, ID: 0x05}, Of(SilentToClaim)},
	}
	if !slices.Equal(engine.Unread, notes) || engine.FreezeState != Of(Read) || engine.TestState.Outcome != Of(Read) {
		t.Errorf("%+v %v %v", engine.Unread, engine.FreezeState, engine.TestState)
	}
	if want := (Note{Item{Kind: ItemDetail, ID: 0x04, Name: "C0035-11"}, Of(Silent)}); !slices.Contains(brakes.Unread, want) || !brakes.Further() || engine.Further() {
		t.Errorf("%+v", brakes.Unread)
	}
	if c := brakes.Codes[1]; !c.Unclear() || c.Past() {
		t.Errorf("%+v: this ECU keeps no bit for a failing test", c)
	}
	if tests := engine.Tests; len(tests) != 1 || tests[0].ID != (TestID{1, 1}) || tests[0].Outcome != Failed {
		t.Errorf("%+v", tests)
	}
	if len(r.Triage) != 8 || r.Triage[0].Rule != "" || r.Triage[0].Do == "" {
		t.Errorf("%+v", r.Triage)
	}
}

// Every key that the first version wrote is still written, with the same value where that is no
// sentence.
func TestReport_KeysOfFirstVersion(t *testing.T) {
	r, err := Load("testdata/first-version.json")
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var now, was any
	if err := json.Unmarshal(text, &now); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(file(t, "testdata/first-version.json"), &was); err != nil {
		t.Fatal(err)
	}
	same(t, "report", was, now)
}

func file(t *testing.T, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// same holds that a JSON value has all that another had. The words of a refusal and of a status
// may improve.
func same(t *testing.T, at string, was, now any) {
	t.Helper()
	switch was := was.(type) {
	case map[string]any:
		now, ok := now.(map[string]any)
		if !ok {
			t.Errorf("%s is no object any more", at)
			return
		}
		for key, value := range was {
			if key != "status_words" {
				same(t, at+"."+key, value, now[key])
			}
		}
	case []any:
		now, ok := now.([]any)
		if !ok || len(now) != len(was) {
			t.Errorf("%s: %v, was %v", at, now, was)
			return
		}
		for i := range was {
			same(t, at, was[i], now[i])
		}
	case string:
		var a, b Note
		if now, ok := now.(string); !ok || a.UnmarshalText([]byte(was)) != nil || b.UnmarshalText([]byte(now)) != nil || was != now && (a != b || a.Outcome.Kind != Refused) {
			t.Errorf("%s: %v, was %v", at, now, was)
		}
	default:
		if was != now {
			t.Errorf("%s: %v, was %v", at, now, was)
		}
	}
}
