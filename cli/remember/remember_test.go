package remember

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// home gives the test a configuration folder of its own.
func home(t *testing.T) {
	t.Helper()
	for _, name := range []string{"XDG_CONFIG_HOME", "HOME", "AppData"} { // linux, macOS, Windows: os.UserConfigDir
		t.Setenv(name, t.TempDir())
	}
}

func TestChange(t *testing.T) {
	home(t)
	if s, err := Load(); err != nil || s != (Settings{}) {
		t.Fatalf("with no file: %+v, %v", s, err)
	}
	off := false
	if err := Change(func(s *Settings) { s.Port, s.Bell = "/dev/ttyUSB0", &off }); err != nil {
		t.Fatal(err)
	}
	if err := Change(func(s *Settings) { s.Folder = "/drives" }); err != nil {
		t.Fatal(err)
	}
	s, err := Load()
	if err != nil || s.Port != "/dev/ttyUSB0" || s.Folder != "/drives" || s.Bell == nil || *s.Bell {
		t.Errorf("remembered %+v, %v", s, err)
	}
	path, err := Path()
	if err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("the file: %v, %v; only the user may read it", info.Mode(), err)
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if forgotten, err := Forget(); err != nil || forgotten != path {
		t.Errorf("Forget: %q, %v", forgotten, err)
	}
	if s, err := Load(); err != nil || s != (Settings{}) {
		t.Errorf("after Forget: %+v, %v", s, err)
	}
	if again, err := Forget(); err != nil || again != "" {
		t.Errorf("Forget again: %q, %v", again, err)
	}
}

// TestLoad_Damaged: a file by another hand is an error, is not overwritten, and can be forgotten.
func TestLoad_Damaged(t *testing.T) {
	home(t)
	path, err := Path()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{"port = 5": "line 1: ", "\ncolor = \"red\"": `line 2: a key that this judder does not know, "color"`, "port = \x00": "line 1: "} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Load(); err == nil || !strings.Contains(err.Error(), "judder forget") || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
		if err := Change(func(s *Settings) { s.Port = "COM3" }); err == nil {
			t.Errorf("%q was overwritten", text)
		}
		if kept, _ := os.ReadFile(path); string(kept) != text {
			t.Errorf("%q became %q", text, kept)
		}
	}
	if _, err := Forget(); err != nil {
		t.Error(err)
	}
}
