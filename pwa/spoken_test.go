package pwa_test

import (
	"regexp"
	"strings"
	"unicode"
)

// said is a text in a module of the app, and the way in which it stands there.
type said struct {
	file string
	line int
	text string
	way  string // 'html', 't', 'words' or 'tr' (tongue.js); 'key' of a table; '' for any other string
	prop string // the property whose value it is, if it is one's
	nth  int    // its place in the list or among the arguments that it stands in, from 0
	call string // what is called with it, "[" in a list
}

// spoken reads the texts of a module: a small scanner of strings, templates,
// comments, regular expressions and brackets (ECMA-262, 12.2 to 12.9). What a
// template's text and labels are is told in tongue.js, which cuts them alike.
func spoken(file, source string) []said {
	s := &scanner{file: file, in: source}
	s.code(false)
	return s.out
}

type scanner struct {
	file, in string
	at       int
	out      []said
	open     []frame
	last     string // the last word or sign before this place
}

// frame is an open bracket: its sign, the name that calls it, the property that
// is being given in it, and how many commas it has had.
type frame struct {
	sign       byte
	call, prop string
	commas     int
}

var (
	wordAt = regexp.MustCompile(`^[\p{L}_$][\p{L}\d_$]*`)
	spaces = regexp.MustCompile(`\s+`)
	labels = regexp.MustCompile(`(aria-label|placeholder|title|alt)=$`)
)

// code reads until the end, or to the brace that ends a template's expression.
func (s *scanner) code(inTemplate bool) {
	depth := len(s.open)
	for s.at < len(s.in) {
		rest := s.in[s.at:]
		switch c := rest[0]; {
		case c == ' ' || c == '\n' || c == '\t' || c == '\r':
			s.at++
			continue
		case strings.HasPrefix(rest, "//"):
			s.at += strings.IndexByte(rest+"\n", '\n')
			continue
		case strings.HasPrefix(rest, "/*"):
			s.at += strings.Index(rest, "*/") + 2
			continue
		case c == '\'' || c == '"':
			s.plain(c)
			s.last = "string"
			continue
		case c == '`':
			s.template(s.last)
			s.last = "string"
			continue
		case c == '/' && strings.Contains(" ( , = : [ ! & | ? { } ; + - < > => return ", " "+s.last+" ") && s.last != "":
			s.regex()
			s.last = "regex"
			continue
		case c == '(' || c == '[' || c == '{':
			s.open = append(s.open, frame{sign: c, call: s.last})
		case c == ')' || c == ']' || c == '}':
			if inTemplate && len(s.open) == depth {
				s.at++
				return
			}
			if len(s.open) > 0 {
				s.open = s.open[:len(s.open)-1]
			}
		case c == ',' && len(s.open) > 0:
			f := &s.open[len(s.open)-1]
			f.commas++
			f.prop = ""
		case c == ':' && len(s.open) > 0:
			if f := &s.open[len(s.open)-1]; f.sign == '{' && f.prop == "" {
				f.prop = s.last
			}
		}
		if w := wordAt.FindString(rest); w != "" {
			s.last, s.at = w, s.at+len(w)
			continue
		}
		if strings.HasPrefix(rest, "=>") {
			s.last, s.at = "=>", s.at+2
			continue
		}
		s.last, s.at = rest[:1], s.at+1
	}
}

func (s *scanner) regex() {
	class := false
	for s.at++; s.at < len(s.in); s.at++ {
		switch c := s.in[s.at]; {
		case c == '\\':
			s.at++
		case c == '[':
			class = true
		case c == ']':
			class = false
		case c == '/' && !class:
			s.at++
			s.at += len(wordAt.FindString(s.in[s.at:]))
			return
		}
	}
}

func unescaped(text string) string {
	return strings.NewReplacer(`\'`, `'`, `\"`, `"`, "\\`", "`", `\n`, "\n", `\\`, `\`, `\u00a0`, "\u00a0").Replace(text)
}

func (s *scanner) plain(quote byte) {
	from := s.at + 1
	for s.at++; s.in[s.at] != quote; s.at++ {
		if s.in[s.at] == '\\' {
			s.at++
		}
	}
	text := unescaped(s.in[from:s.at])
	s.at++
	way := ""
	for _, f := range s.open {
		if f.sign == '(' && (f.call == "words" || f.call == "tr") {
			way = f.call
		}
	}
	if f := s.top(); f.sign == '{' && strings.HasPrefix(strings.TrimLeft(s.in[s.at:], " "), ":") && f.prop == "" && (s.last == "{" || s.last == ",") {
		way = "key"
		s.say(from, text, way)
		s.last = text
		f.prop = text
		s.at += strings.IndexByte(s.in[s.at:], ':') + 1
		return
	}
	s.say(from, text, way)
}

func (s *scanner) top() *frame {
	if len(s.open) == 0 {
		return &frame{}
	}
	return &s.open[len(s.open)-1]
}

func (s *scanner) say(at int, text, way string) {
	f, call := s.top(), ""
	if f.sign == '[' {
		call = "["
	} else if f.sign == '(' {
		call = f.call
	}
	prop := ""
	for i := len(s.open) - 1; i >= 0 && prop == "" && s.open[i].sign != '('; i-- {
		prop = s.open[i].prop
	}
	s.out = append(s.out, said{s.file, 1 + strings.Count(s.in[:at], "\n"), text, way, prop, f.commas, call})
}

// template reads a template by its tag: of html its texts and labels, of t the
// key, of any other what stands in it with its gaps numbered.
func (s *scanner) template(tag string) {
	begin := s.at
	var pieces []string
	from := s.at + 1
	for s.at++; s.in[s.at] != '`'; s.at++ {
		if s.in[s.at] == '\\' {
			s.at++
			continue
		}
		if strings.HasPrefix(s.in[s.at:], "${") {
			pieces = append(pieces, unescaped(s.in[from:s.at]))
			s.at += 2
			s.last = "{"
			s.code(true)
			from = s.at
			s.at--
		}
	}
	pieces = append(pieces, unescaped(s.in[from:s.at]))
	s.at++
	switch tag {
	case "html", "plain":
		for _, text := range texts(pieces) {
			s.say(begin, text, "html")
		}
	case "svg":
	case "t":
		s.say(begin, numbered(pieces), "t")
	default:
		s.say(begin, numbered(pieces), "")
	}
}

func numbered(pieces []string) string {
	key := pieces[0]
	for i, p := range pieces[1:] {
		key += "{" + string(rune('1'+i)) + "}" + p
	}
	return key
}

// texts are the texts and labels of a template's strings.
func texts(pieces []string) (out []string) {
	tag, label, quote := false, false, byte(0)
	for _, s := range pieces {
		for at := 0; at < len(s); {
			rest := s[at:]
			ends := "<"
			if quote != 0 {
				ends = string(quote)
			} else if tag {
				ends = `>"'`
			}
			end := strings.IndexAny(rest, ends)
			piece, next := rest, byte(0)
			if end >= 0 {
				piece, next = rest[:end], rest[end]
			}
			if quote != 0 && label || quote == 0 && !tag {
				if text := strings.TrimSpace(spaces.ReplaceAllString(piece, " ")); strings.IndexFunc(text, unicode.IsLetter) >= 0 {
					out = append(out, text)
				}
			}
			switch {
			case quote != 0:
				if next != 0 {
					quote = 0
				}
			case !tag:
				tag = next == '<'
			case next == '>':
				tag = false
			case next != 0:
				quote, label = next, labels.MatchString(piece)
			}
			at += len(piece) + 1
		}
	}
	return out
}
