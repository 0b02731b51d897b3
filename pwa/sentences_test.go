package pwa_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// core are the files in which the core, the lead's package and the server say
// something, and which of their texts are said. Tables that they export are read
// as such (tableTexts).
var core = map[string]func(s said) bool{
	"checklist/text.go":      aText,
	"checklist/release.go":   aText,
	"checklist/edges.go":     aText,
	"checklist/steps.go":     aText,
	"checklist/rules.go":     func(s said) bool { return strings.HasPrefix(s.text, "{1} cannot") },
	"checklist/view/gate.go": aText,
	"checklist/view/job.go":  aText,
	"checklist/view/say.go": func(s said) bool {
		return !oneOf(s.text, "yes no started not-done") && !strings.Contains(s.text, "⟨")
	},
	"checklist/line/check.go":   aText,
	"checklist/line/film.go":    aText,
	"checklist/line/missing.go": aText,
	"checklist/line/pinned.go":  aText,
	"checklist/line/ranges.go":  aText,
	"checklist/line/kinds.go":   func(s said) bool { return strings.HasPrefix(s.text, "the ") || strings.Contains(s.text, " or ") },
	"checklist/film/rules.go":   func(s said) bool { return aText(s) && !strings.Contains(s.text, "valid are") },
	"checklist/film/film.go":    func(s said) bool { return strings.HasPrefix(s.text, "not a film") || strings.HasPrefix(s.text, "its ") },
	"checklist/lead/alarm.go":   aText,
	"checklist/learn/report.go": aText,
	"checklist/learn/trial.go":  func(s said) bool { return strings.HasSuffix(s.text, " primer") || s.text == "not measured" },
	"checklist/lead/closing.go": aText,
	"checklist/lead/fit.go":     aText,
	"checklist/lead/look.go":    aText,
	"checklist/lead/move.go":    func(s said) bool { return aText(s) && s.text != "not known" },
	"checklist/lead/night.go":   aText,
	"checklist/lead/propose.go": func(s said) bool { return aText(s) || s.text == "closed" },
	"checklist/lead/removal.go": aText,
	"checklist/lead/shop.go":    aText,
	"checklist/lead/told.go":    aText,
	"checklist/plan/problem.go": aText,
	"server/join/invitation.go": aText,
	"server/policy.go":          aText,
	"server/origin.go": func(s said) bool {
		return strings.Contains(s.text, " until these phones have come.") || strings.HasPrefix(s.text, "No certificate here") || strings.HasPrefix(s.text, "Nothing listens")
	},
	"server/photos.go": func(s said) bool {
		return strings.HasPrefix(s.text, "this p") || strings.HasPrefix(s.text, "this is") || strings.HasPrefix(s.text, "the bytes") || strings.Contains(s.text, "read back")
	},
	"server/quota.go": aText,
	"server/owner.go": func(s said) bool { // what the owner is told, owner.js says in its own languages
		return aSentence.MatchString(s.text) && (strings.Contains(s.text, " link") || s.text == "The shop cannot answer just now. Try again.") && !strings.HasPrefix(s.text, "This link") && !strings.HasPrefix(s.text, "Open") && !strings.HasPrefix(s.text, "Too")
	},
	"server/member.go": func(s said) bool { return aSentence.MatchString(s.text) && strings.HasSuffix(s.text, ".") },
	"server/pin.go": func(s said) bool {
		return strings.HasPrefix(s.text, "{1} has") || aSentence.MatchString(s.text) && strings.HasSuffix(s.text, ".")
	},
	"server/grants.go":    func(s said) bool { return aSentence.MatchString(s.text) && strings.HasSuffix(s.text, ".") },
	"server/join/pin.go":  func(s said) bool { return aSentence.MatchString(s.text) && strings.HasSuffix(s.text, ".") },
	"sync/judge/judge.go": aText,
}

// aText has a second word, or is one with a capital.
func aText(s said) bool { return twoWords.MatchString(s.text) }

var twoWords = regexp.MustCompile(`\p{L}{2,}[^⟨]* |^(\{1\}|A|1)? \p{L}|^\p{Lu}\p{Ll}`)

// logs says that a call writes into the server's log: s.log.Info and its like.
func logs(call *ast.CallExpr) bool {
	f, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	on, ok := f.X.(*ast.SelectorExpr)
	return ok && on.Sel.Name == "log" || f.Sel.Name == "noWrite"
}

// sentencesOf are the texts that stand in a Go file: what is joined with + or
// filled in by fmt is one text with its gaps numbered.
func sentencesOf(t testing.TB, file string) (out []said) {
	t.Helper()
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, file, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	var text func(ast.Expr) string
	text = func(e ast.Expr) string {
		switch e := e.(type) {
		case *ast.ParenExpr:
			return text(e.X)
		case *ast.BinaryExpr:
			if e.Op == token.ADD {
				return text(e.X) + text(e.Y)
			}
		case *ast.BasicLit:
			if s, err := strconv.Unquote(e.Value); err == nil && e.Kind == token.STRING {
				return s
			}
		}
		n++
		return "{" + strconv.Itoa(n) + "}"
	}
	field := ""
	var visit func(ast.Node) bool
	visit = func(node ast.Node) bool {
		switch node := node.(type) {
		case *ast.ImportSpec, *ast.CaseClause:
			if c, ok := node.(*ast.CaseClause); ok { // what is compared is a key
				for _, s := range c.Body {
					ast.Inspect(s, visit)
				}
			}
			return false
		case *ast.Field:
			return false // tags
		case *ast.KeyValueExpr:
			before := field
			if k, ok := node.Key.(*ast.Ident); ok {
				field = k.Name
			}
			ast.Inspect(node.Value, visit)
			field = before
			return false
		case *ast.BinaryExpr:
			if node.Op == token.EQL || node.Op == token.NEQ {
				return false // a key again
			}
			if node.Op != token.ADD {
				return true
			}
			n = 0
			out = append(out, said{file: file, line: set.Position(node.Pos()).Line, text: text(node), prop: field})
			ast.Inspect(node, func(inner ast.Node) bool { // what is filled in may be a call with texts of its own
				if call, ok := inner.(*ast.CallExpr); ok {
					for _, a := range call.Args {
						ast.Inspect(a, visit)
					}
					return false
				}
				return true
			})
			return false
		case *ast.BasicLit:
			if s, err := strconv.Unquote(node.Value); err == nil && node.Kind == token.STRING {
				out = append(out, said{file: file, line: set.Position(node.Pos()).Line, text: s, prop: field})
			}
		case *ast.CallExpr:
			if logs(node) {
				return false // the terminal's, in English
			}
			if sel, ok := node.Fun.(*ast.SelectorExpr); ok && sel.Sel.Name == "Sprintf" {
				if lit, ok := node.Args[0].(*ast.BasicLit); ok {
					s, _ := strconv.Unquote(lit.Value)
					k := 0
					s = verb.ReplaceAllStringFunc(s, func(v string) string {
						if v == "%%" {
							return "%"
						}
						k++
						return "{" + strconv.Itoa(k) + "}"
					})
					out = append(out, said{file: file, line: set.Position(lit.Pos()).Line, text: s, prop: field})
					for _, a := range node.Args[1:] {
						ast.Inspect(a, visit)
					}
					return false
				}
			}
		}
		return true
	}
	ast.Inspect(f, visit)
	return out
}

var verb = regexp.MustCompile(`%[-+.\d]*[a-z%]`)
