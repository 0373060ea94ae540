package read_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/compare"
	"github.com/judder-obd/judder/check/read"
)

// Whoever reads the JSON finds every promised field, also where the car reported nothing: a list is
// [], never null.
func TestReport_JSONFields(t *testing.T) {
	r, _ := checkOf(t, plain(script{"760/19022F": {"768 59 02 FF C1 40 87 2F"}}), read.Options{Modules: module(t, "760")})
	for _, r := range []*check.Report{r, {ECUs: []check.ECU{{ID: "7E8"}}}, {}} {
		_, text := pages(t, r)
		var top map[string]json.RawMessage
		var ecus []map[string]json.RawMessage
		if err := json.Unmarshal([]byte(text), &top); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(top["ecus"], &ecus); err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{"vin", "protocol", "ecus", "not_answering"} {
			if top[key] == nil || string(top[key]) == "null" {
				t.Errorf("%s: %s in %s", key, top[key], text)
			}
		}
		for _, e := range ecus {
			for _, key := range []string{"ecu", "name", "calibration_ids", "calibration_verification_numbers", "codes"} {
				if e[key] == nil || string(e[key]) == "null" {
					t.Errorf("%s: %s in %s", key, e[key], text)
				}
			}
			var codes []map[string]any
			if err := json.Unmarshal(e["codes"], &codes); err != nil {
				t.Fatal(err)
			}
			for _, k := range codes {
				if k["code"] == nil || k["state"] == nil || k["service"] == "19" && k["status"] == nil {
					t.Errorf("%v", k)
				}
			}
		}
	}
}

// A check that was kept when empty fields were left out is read and compared as before.
func TestLoad_Older(t *testing.T) {
	path := filepath.Join(t.TempDir(), "older.json")
	const older = `{"time":"2026-11-01T10:00:00Z","vin":"","protocol":"ISO 15765-4 (CAN 11/500)","adapter":"ELM327 v1.5","ecus":[{"ecu":"7E8","codes":[{"code":"P0741","state":"stored","service":"03"}],"code_lists":{"stored":"read","pending":"read","permanent":"read"}}],"not_answering":[],"triage":[]}`
	if err := os.WriteFile(path, []byte(older), 0o600); err != nil {
		t.Fatal(err)
	}
	before, err := check.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	after, _ := checkOf(t, plain(nil), read.Options{})
	c := compare.Checks(before, after)
	if !slices.ContainsFunc(c.Changes, func(c compare.Change) bool { return c.Code == "P0741" && c.What == compare.Gone }) {
		t.Errorf("%+v", c.Changes)
	}
	if _, text := pages(t, before); !strings.Contains(text, `"calibration_ids":[]`) {
		t.Error(text)
	}
}
