package noquery

import (
	"os"
	"testing"
)

func TestRestore(t *testing.T) {
	for _, tt := range []struct {
		name  string
		set   bool
		value string
	}{{"not set", false, ""}, {"set and empty", true, ""}, {"set", true, "yes"}} {
		t.Run(tt.name, func(t *testing.T) {
			t.Setenv(variable, tt.value) // is put back after the test
			if !tt.set {
				if err := os.Unsetenv(variable); err != nil {
					t.Fatal(err)
				}
			}
			before, held = hide()
			if os.Getenv(variable) == "" {
				t.Error("nothing set while others are initialised")
			}
			Restore()
			if value, set := os.LookupEnv(variable); set != tt.set || value != tt.value {
				t.Errorf("restored to %q, %v; was %q, %v", value, set, tt.value, tt.set)
			}
		})
	}
}
