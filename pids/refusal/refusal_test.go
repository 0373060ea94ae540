package refusal

import (
	"strings"
	"testing"
)

func TestText(t *testing.T) {
	if got := Text(0x22); !strings.Contains(got, "conditions") || !strings.Contains(got, "22") {
		t.Error(got)
	}
	for code, r := range refusals {
		if r.text == "" || r.do == "" {
			t.Errorf("%02X has no words, or no advice", code)
		}
	}
	if got := Text(0xC0); got != "code C0" {
		t.Error(got)
	}
}
