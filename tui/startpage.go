package tui

import (
	"strings"
	"time"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session/complaint"
)

// Start is what the start page offers: values alone.
type Start struct {
	Ports      []StartPort
	Recordings []StartRecording // the latest first
	Port       string           // the port that the cursor is on at first, such as the one used last; "" for the first
	Complaint  complaint.Box
	Trouble    string // why the last drive ended, in one line; "" when all went well
	Bell       bool
}

// StartPort is a port that an adapter may be at.
type StartPort struct {
	Path string
	Name string // what it is, in words; may be empty
}

// StartRecording is a recording that can be played.
type StartRecording struct {
	Path string
	When time.Time
	Note string // such as its size; may be empty
}

// StartAction is what was chosen.
type StartAction uint8

// What can be chosen.
const (
	StartNothing StartAction = iota // the page was left
	StartDrive
	StartDemo
	StartReplay
)

// Choice is what was chosen on the start page.
type Choice struct {
	Action    StartAction
	Path      string // of the port or the recording
	Complaint complaint.Box
	Bell      bool
	Sunlight  bool
}

// startRow is one line that can be chosen.
type startRow struct {
	head string // of the part that begins here; "" within one
	name string
	text string
	do   func(*startModel) tea.Cmd
}

// startModel is the page before anything runs.
type startModel struct {
	start  Start
	choice Choice
	themes [2]theme
	ring   func()
	rows   []startRow
	at     int // row of the cursor
	first  int // row at the top, where not all have room
	said   string
	entry  startEntry
	w, h   int
}

// startEntry is a line being typed.
type startEntry struct {
	ask  string // "" when nothing is typed
	text []rune
	take func(text string) (wrong string, cmd tea.Cmd)
}

func newStartModel(s Start, o Options, th [2]theme) *startModel {
	m := &startModel{start: s, choice: Choice{Complaint: s.Complaint, Bell: s.Bell, Sunlight: o.Sunlight}, themes: th, ring: func() {}, w: 80, h: 24}
	m.list()
	for i := range s.Ports {
		if s.Ports[i].Path == s.Port {
			m.at = i
		}
	}
	return m
}

// list makes the rows.
func (m *startModel) list() {
	m.rows = m.rows[:0]
	head := "drive and record"
	add := func(name, text string, do func(*startModel) tea.Cmd) {
		m.rows = append(m.rows, startRow{head, prose.Clean(name), prose.Clean(text), do})
		head = ""
	}
	for _, p := range m.start.Ports {
		add(p.Path, p.Name, choose(StartDrive, p.Path))
	}
	other := "type a path or the address of a Wi-Fi adapter"
	if len(m.start.Ports) == 0 {
		other = "no serial port found: plug in, or type a path"
	}
	add("another port", other, (*startModel).askPort)
	head = "without a car"
	add("simulated car", "a road test with shudder; nothing is recorded", choose(StartDemo, ""))
	head = "recordings here"
	for _, r := range m.start.Recordings {
		add(baseName(r.Path), strings.TrimSpace(r.When.Format("2 Jan 2006, 15:04")+"   "+r.Note), choose(StartReplay, r.Path))
	}
	head = "for the next drive"
	said := m.choice.Complaint.String()
	if said == "" {
		said = "none; such as 60-70 km/h light warm"
	}
	add("complaint", said, (*startModel).askComplaint)
	add("bell", bellWord(m.choice.Bell)[len("bell "):]+"; enter tests it", (*startModel).testBell)
}

func choose(a StartAction, path string) func(*startModel) tea.Cmd {
	return func(m *startModel) tea.Cmd {
		m.choice.Action, m.choice.Path = a, path
		return tea.Quit
	}
}

func (m *startModel) askPort() tea.Cmd {
	m.entry = startEntry{ask: "port: ", text: []rune("tcp://"), take: func(text string) (string, tea.Cmd) {
		port := typedPort(text)
		if port == "" {
			return "type a port first, such as tcp://192.168.0.10:35000, /dev/ttyUSB0 or COM5", nil
		}
		return "", choose(StartDrive, port)(m)
	}}
	return nil
}

// typedPort is the port in a line that began with "tcp://": behind it stands the rest of an address, a
// whole one, or a path, which has no port number.
func typedPort(text string) string {
	text = strings.TrimSpace(text)
	rest := strings.TrimPrefix(text, "tcp://")
	if strings.HasPrefix(rest, "tcp://") || strings.HasPrefix(rest, "/") || !strings.Contains(rest, ":") {
		return rest
	}
	return text
}

func (m *startModel) askComplaint() tea.Cmd {
	m.entry = startEntry{ask: "complaint: ", text: []rune(m.choice.Complaint.String()), take: func(text string) (string, tea.Cmd) {
		if strings.TrimSpace(text) == "" {
			m.choice.Complaint = complaint.Box{}
			return "", nil
		}
		box, err := complaint.Parse(text)
		if err != nil {
			return err.Error(), nil
		}
		m.choice.Complaint = box
		return "", nil
	}}
	return nil
}

// testBell rings, whether the bell is on or not.
func (m *startModel) testBell() tea.Cmd {
	ring := m.ring
	m.said = "the bell rang; not heard? look at the sound settings of the terminal and of this computer"
	return func() tea.Msg { ring(); return nil }
}

// Init does nothing: everything is there.
func (m *startModel) Init() tea.Cmd { return nil }

// Update takes a key.
func (m *startModel) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		m.w, m.h = msg.Width, msg.Height
	case tea.KeyMsg:
		if msg.Type == tea.KeyCtrlC {
			return m, tea.Quit
		}
		if m.entry.ask != "" {
			return m, m.typed(msg)
		}
		return m, m.press(msg)
	}
	return m, nil
}

func (m *startModel) press(k tea.KeyMsg) tea.Cmd {
	m.said = ""
	var ok bool
	if m.at, ok = moved(k, m.at, len(m.rows), len(m.rows)-1); ok {
		return nil
	}
	switch k.String() {
	case "enter", " ", "right":
		cmd := m.rows[m.at].do(m)
		m.list()
		return cmd
	case "b":
		m.choice.Bell = !m.choice.Bell
		m.list()
	case "s":
		m.choice.Sunlight = !m.choice.Sunlight
	case "q", "esc":
		return tea.Quit
	}
	m.at = max(0, min(m.at, len(m.rows)-1))
	return nil
}

// typed takes a key of a line. Enter takes the line, escape drops it; a line that makes no sense stays.
func (m *startModel) typed(k tea.KeyMsg) tea.Cmd {
	e := &m.entry
	m.said = ""
	switch k.Type {
	case tea.KeyEsc:
		e.ask = ""
	case tea.KeyEnter:
		wrong, cmd := e.take(string(e.text))
		if m.said = wrong; wrong == "" {
			e.ask = ""
			m.list()
		}
		return cmd
	case tea.KeyBackspace:
		e.text = e.text[:max(0, len(e.text)-1)]
	case tea.KeyCtrlU:
		e.text = nil
	case tea.KeySpace, tea.KeyRunes:
		for _, r := range k.Runes {
			if len(e.text) < longestNote && utf8.ValidRune(r) {
				e.text = append(e.text, prose.CleanRune(r))
			}
		}
	}
	return nil
}
