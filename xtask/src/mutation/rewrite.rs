//! Rewrites a file so that every mutant in it stands behind the switch `crate::mutant(N)`.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use proc_macro2::{Span, TokenStream};
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

use super::mutant::{Genre, Mutant};

/// A file with its mutants switched.
pub struct Rewritten {
    /// The new text.
    pub text: String,
    /// The mutants that are in it.
    pub placed: BTreeSet<usize>,
}

/// Text around a range of the file; the range itself may hold further edits.
struct Edit {
    range: Range<usize>,
    before: String,
    after: &'static str,
    hides: bool,
}

struct Finder<'a> {
    source: &'a str,
    by_place: BTreeMap<(usize, usize), Vec<&'a Mutant>>,
    edits: Vec<Edit>,
    placed: BTreeSet<usize>,
}

/// `m(N)` in the rewritten text.
fn switch(id: usize) -> String {
    format!("crate::mutant({id})")
}

/// Whether a condition binds names with `let`; such a chain cannot be an operand of anything else.
fn binds(expr: &syn::Expr) -> bool {
    match expr {
        syn::Expr::Let(_) => true,
        syn::Expr::Binary(b) => binds(&b.left) || binds(&b.right),
        _ => false,
    }
}

impl<'a> Finder<'a> {
    fn at(&self, span: Span, genre: Genre) -> Vec<&'a Mutant> {
        let start = span.start();
        let here = self.by_place.get(&(start.line, start.column + 1));
        here.into_iter().flatten().copied().filter(|m| m.genre == Some(genre)).collect()
    }

    /// The pristine text of a node on one line, without comments.
    fn line(&self, span: Span) -> String {
        let text = &self.source[span.byte_range()];
        text.parse::<TokenStream>().map_or_else(|_| text.to_owned(), |t| t.to_string())
    }

    fn edit(&mut self, range: Range<usize>, before: String, after: &'static str) {
        self.edits.push(Edit { range, before, after, hides: false });
    }

    /// `(if m(5) {a - b} else if m(6) {a * b} else {a + b})`, every arm on a line of its own.
    fn arms(&mut self, span: Span, arms: Vec<(usize, String)>) {
        if arms.is_empty() {
            return;
        }
        let mut before = "(\n".to_owned();
        for (id, text) in arms {
            before.push_str(&format!("if {} {{ {text} }}\nelse ", switch(id)));
            self.placed.insert(id);
        }
        before.push_str("{ ");
        self.edit(span.byte_range(), before, " })");
    }

    fn body(&mut self, signature: &syn::Signature, block: &syn::Block) {
        // What is switched, or calls what is, cannot be constant.
        if let Some(word) = &signature.constness {
            let range = word.span().byte_range();
            self.edits.push(Edit { range, before: String::new(), after: "", hides: true });
        }
        let Some(first) = block.stmts.first() else { return };
        let mutants = self.at(first.span(), Genre::FnValue);
        let open = block.brace_token.span.open().byte_range().end;
        for m in mutants {
            self.edit(open..open, format!("\nif {} {{ return {}; }}\n", switch(m.id), m.replacement), "");
            self.placed.insert(m.id);
        }
    }

    fn guard(&mut self, arm: &syn::Arm) {
        let deleted = self.at(arm.pat.span(), Genre::Arm);
        let mut before = String::new();
        for m in &deleted {
            before.push_str(&format!("!{} && ", switch(m.id)));
        }
        let Some((_, guard)) = &arm.guard else {
            if !deleted.is_empty() {
                let end = arm.pat.span().byte_range().end;
                self.edit(end..end, format!(" if {before}true"), "");
                self.placed.extend(deleted.iter().map(|m| m.id));
            }
            return;
        };
        let guarded = self.at(guard.span(), Genre::Guard);
        if binds(guard) || (deleted.is_empty() && guarded.is_empty()) {
            return;
        }
        let ids = |value: &str| -> Vec<usize> {
            guarded.iter().filter(|m| m.replacement == value).map(|m| m.id).collect()
        };
        let either: String = ids("true").iter().map(|id| format!("{} || ", switch(*id))).collect();
        let neither: String = ids("false").iter().map(|id| format!("!{} && ", switch(*id))).collect();
        self.edit(guard.span().byte_range(), format!("{before}({either}({neither}("), ")))");
        self.placed.extend(deleted.iter().chain(&guarded).map(|m| m.id));
    }
}

impl<'ast> Visit<'ast> for Finder<'_> {
    fn visit_item_fn(&mut self, node: &'ast syn::ItemFn) {
        self.body(&node.sig, &node.block);
        visit::visit_item_fn(self, node);
    }

    fn visit_impl_item_fn(&mut self, node: &'ast syn::ImplItemFn) {
        self.body(&node.sig, &node.block);
        visit::visit_impl_item_fn(self, node);
    }

    fn visit_expr_binary(&mut self, node: &'ast syn::ExprBinary) {
        if !binds(&node.left) && !binds(&node.right) {
            let (left, right) = (self.line(node.left.span()), self.line(node.right.span()));
            let assigns = self.line(node.op.span()).ends_with('=')
                && !matches!(
                    node.op,
                    syn::BinOp::Eq(_) | syn::BinOp::Ne(_) | syn::BinOp::Le(_) | syn::BinOp::Ge(_)
                );
            let left = if assigns { left } else { format!("({left})") };
            let mutants = self.at(node.op.span(), Genre::Binary);
            let arms =
                mutants.iter().map(|m| (m.id, format!("{left} {} ({right})", m.replacement))).collect();
            self.arms(node.span(), arms);
        }
        visit::visit_expr_binary(self, node);
    }

    fn visit_expr_unary(&mut self, node: &'ast syn::ExprUnary) {
        let operand = self.line(node.expr.span());
        let arms = self.at(node.op.span(), Genre::Unary).iter().map(|m| (m.id, operand.clone())).collect();
        self.arms(node.span(), arms);
        visit::visit_expr_unary(self, node);
    }

    fn visit_arm(&mut self, node: &'ast syn::Arm) {
        self.guard(node);
        visit::visit_arm(self, node);
    }

    fn visit_expr_struct(&mut self, node: &'ast syn::ExprStruct) {
        let (path, base) = (self.line(node.path.span()), node.rest.as_ref().map(|b| self.line(b.span())));
        if let Some(base) = base {
            let mut arms = vec![];
            for left_out in &node.fields {
                let others = node.fields.iter().filter(|f| f.span().start() != left_out.span().start());
                let fields: String = others.map(|f| self.line(f.span()) + ", ").collect();
                let text = format!("{path} {{ {fields} ..{base} }}");
                arms.extend(self.at(left_out.span(), Genre::Field).iter().map(|m| (m.id, text.clone())));
            }
            self.arms(node.span(), arms);
        }
        visit::visit_expr_struct(self, node);
    }
}

/// The range with the edits in it, which are sorted with the outer before the inner.
fn render(
    source: &str,
    range: Range<usize>,
    edits: &mut std::iter::Peekable<std::slice::Iter<'_, Edit>>,
) -> String {
    let (mut out, mut from) = (String::new(), range.start);
    while let Some(edit) = edits.next_if(|e| e.range.end <= range.end) {
        out.push_str(&source[from..edit.range.start]);
        out.push_str(&edit.before);
        let inner = render(source, edit.range.clone(), edits);
        out.push_str(if edit.hides { "" } else { &inner });
        out.push_str(edit.after);
        from = edit.range.end;
    }
    out + &source[from..range.end]
}

/// The file with those of `mutants` in it that have a place.
///
/// # Errors
/// Where it is not Rust.
pub fn rewrite(source: &str, mutants: &[&Mutant]) -> Result<Rewritten, syn::Error> {
    let file = syn::parse_file(source)?;
    let mut by_place: BTreeMap<_, Vec<&Mutant>> = BTreeMap::new();
    for m in mutants {
        by_place.entry(m.at).or_default().push(m);
    }
    let mut finder = Finder { source, by_place, edits: vec![], placed: BTreeSet::new() };
    finder.visit_file(&file);
    let Finder { mut edits, placed, .. } = finder;
    edits.sort_by_key(|e| (e.range.start, std::cmp::Reverse(e.range.end)));
    let text = render(source, 0..source.len(), &mut edits.iter().peekable());
    Ok(Rewritten { text, placed })
}

/// The numbers of the mutants that a line of rewritten text switches.
#[must_use]
pub fn switched_on(line: &str) -> Vec<usize> {
    let pieces = line.split("crate::mutant(").skip(1);
    pieces.filter_map(|p| p.split(')').next()?.parse().ok()).collect()
}
