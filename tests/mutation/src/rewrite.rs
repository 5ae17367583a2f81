//! Rewrites a source so that each of many small errors in it can be switched on by number while it runs.
//!
//! In: the text of a source and the next free number. Out: the new text and what each number does. `a + b` becomes
//! `match (a, b) { (l, r) => if crate::mutant::is(7u32) { l - r } else { l + r } }`, so one build holds every error and one
//! environment variable chooses. Left alone: constants, `const fn`, patterns, types, macros, tests.

use proc_macro2::Span;
use quote::quote;
use syn::spanned::Spanned;
use syn::visit_mut::{self, VisitMut};
use syn::{BinOp, Expr, ExprBinary, ExprMethodCall, UnOp, parse_quote};

/// One error that can be switched on.
#[derive(Debug, Clone, PartialEq)]
pub struct Mutant {
    /// Number by which it is chosen.
    pub id: u32,
    /// Line of the source as it was, from 1.
    pub line: usize,
    /// Column of it, from 1.
    pub column: usize,
    /// What is done instead of what.
    pub what: String,
}

/// The text with every error in it, what they are, and the next free number; numbers start at `first`, those in `without` are passed over.
///
/// # Errors
/// The text is no Rust source.
pub fn rewrite(text: &str, first: u32, without: &[u32]) -> syn::Result<(String, Vec<Mutant>, u32)> {
    let mut file = syn::parse_file(text)?;
    let mut rewriter = Rewriter {
        next: first,
        found: Vec::new(),
        without,
    };
    rewriter.visit_file_mut(&mut file);
    let text = prettyplease::unparse(&file);
    Ok((text, rewriter.found, rewriter.next))
}

struct Rewriter<'a> {
    next: u32,
    found: Vec<Mutant>,
    without: &'a [u32],
}

impl Rewriter<'_> {
    /// A number for an error, unless it is to be left out.
    fn number(&mut self, span: Span, what: String) -> Option<u32> {
        let id = self.next;
        self.next += 1;
        if self.without.contains(&id) {
            return None;
        }
        let start = span.start();
        self.found.push(Mutant {
            id,
            line: start.line,
            column: start.column + 1,
            what,
        });
        Some(id)
    }

    fn binary(&mut self, node: &ExprBinary) -> Option<Expr> {
        let (left, right) = (&node.left, &node.right);
        let form = Form::of(&node.op);
        if form == Form::Lazy && (has_let(left) || has_let(right)) {
            return None;
        }
        // Operands are worked out once, whatever is done with them.
        let done = |op: &BinOp| -> Expr {
            match form {
                Form::Lazy => parse_quote!(mutant_l #op #right),
                Form::Compare => parse_quote!(*mutant_l #op *mutant_r),
                Form::Assign => parse_quote!(#left #op mutant_r),
                Form::Value => parse_quote!(mutant_l #op mutant_r),
            }
        };
        let own = &node.op;
        let mut chosen = done(own);
        let before = self.found.len();
        for (name, other) in others(own) {
            let what = format!("{} -> {name}", quote!(#own));
            if let Some(id) = self.number(own.span(), what) {
                let wrong = done(&other);
                chosen = parse_quote!(if crate::mutant::is(#id) { #wrong } else { #chosen });
            }
        }
        if self.found.len() == before {
            return None;
        }
        Some(match form {
            Form::Lazy => parse_quote!((match #left { mutant_l => { #chosen } })),
            Form::Compare => {
                parse_quote!((match (&(#left), &(#right)) { (mutant_l, mutant_r) => { #chosen } }))
            }
            Form::Assign => parse_quote!((match #right { mutant_r => { #chosen } })),
            Form::Value => {
                parse_quote!((match (#left, #right) { (mutant_l, mutant_r) => { #chosen } }))
            }
        })
    }

    fn swapped_call(&mut self, node: &ExprMethodCall) -> Option<Expr> {
        let name = node.method.to_string();
        let other = match name.as_str() {
            "least" => "most",
            "most" => "least",
            "at_most" => "at_least",
            "at_least" => "at_most",
            "is_some" => "is_none",
            "is_none" => "is_some",
            "saturating_add" => "saturating_sub",
            "saturating_sub" => "saturating_add",
            "sum" if node.args.is_empty() => "difference",
            "difference" if node.args.is_empty() => "sum",
            _ => return None,
        };
        if node.args.len() > 1 {
            return None;
        }
        let receiver = &node.receiver;
        let arguments = &node.args;
        let id = self.number(node.method.span(), format!("{name} -> {other}"))?;
        let (own, other) = (&node.method, quote::format_ident!("{other}"));
        Some(match arguments.first() {
            None => {
                parse_quote!((match &(#receiver) { mutant_l => { if crate::mutant::is(#id) { mutant_l.#other() } else { mutant_l.#own() } } }))
            }
            // What is called stands twice: taken out first, a value behind a reference would be moved.
            Some(argument) => {
                parse_quote!((match #argument { mutant_r => { if crate::mutant::is(#id) { #receiver.#other(mutant_r) } else { #receiver.#own(mutant_r) } } }))
            }
        })
    }

    /// A wrong answer at once, where the answer's type has an obvious one.
    fn early(&mut self, block: &mut syn::Block, signature: &syn::Signature) {
        let span = signature.ident.span();
        let name = &signature.ident;
        let answers: Vec<(String, Expr)> = match &signature.output {
            syn::ReturnType::Default => {
                vec![(format!("{name} does nothing"), parse_quote!(return))]
            }
            syn::ReturnType::Type(_, kind) => match quote!(#kind).to_string().as_str() {
                "bool" => vec![
                    (format!("{name} is true"), parse_quote!(return true)),
                    (format!("{name} is false"), parse_quote!(return false)),
                ],
                "S" => vec![(
                    format!("{name} is zero"),
                    parse_quote!(return <S as crate::numerics::Scalar>::ZERO),
                )],
                text if text.starts_with("Option <") => {
                    vec![(format!("{name} is nothing"), parse_quote!(return None))]
                }
                _ => Vec::new(),
            },
        };
        for (what, answer) in answers {
            if let Some(id) = self.number(span, what) {
                block
                    .stmts
                    .insert(0, parse_quote!(if crate::mutant::is(#id) { #answer; }));
            }
        }
    }
}

/// How an operator takes its operands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    /// The right one only if the left one leaves it open.
    Lazy,
    /// Both lent.
    Compare,
    /// The left one changed in its place.
    Assign,
    /// Both taken.
    Value,
}

impl Form {
    fn of(op: &BinOp) -> Self {
        match op {
            BinOp::And(_) | BinOp::Or(_) => Self::Lazy,
            BinOp::Lt(_)
            | BinOp::Gt(_)
            | BinOp::Le(_)
            | BinOp::Ge(_)
            | BinOp::Eq(_)
            | BinOp::Ne(_) => Self::Compare,
            BinOp::AddAssign(_) | BinOp::SubAssign(_) | BinOp::MulAssign(_) => Self::Assign,
            _ => Self::Value,
        }
    }
}

/// Whether a condition binds names.
fn has_let(expr: &Expr) -> bool {
    match expr {
        Expr::Let(_) => true,
        Expr::Binary(node) => has_let(&node.left) || has_let(&node.right),
        Expr::Paren(node) => has_let(&node.expr),
        _ => false,
    }
}

/// What may stand in the place of an operator.
fn others(op: &BinOp) -> Vec<(&'static str, BinOp)> {
    let list: &[&'static str] = match op {
        BinOp::Add(_) => &["-"],
        BinOp::Sub(_) => &["+"],
        BinOp::Mul(_) => &["+"],
        BinOp::Div(_) => &["*"],
        BinOp::Rem(_) => &["+"],
        BinOp::And(_) => &["||"],
        BinOp::Or(_) => &["&&"],
        BinOp::Lt(_) => &[">", "=="],
        BinOp::Gt(_) => &["<", "=="],
        BinOp::Le(_) => &[">"],
        BinOp::Ge(_) => &["<"],
        BinOp::Eq(_) => &["!="],
        BinOp::Ne(_) => &["=="],
        BinOp::BitAnd(_) => &["|"],
        BinOp::BitOr(_) => &["&"],
        BinOp::BitXor(_) => &["|"],
        BinOp::Shl(_) => &[">>"],
        BinOp::Shr(_) => &["<<"],
        BinOp::AddAssign(_) => &["-="],
        BinOp::SubAssign(_) => &["+="],
        BinOp::MulAssign(_) => &["+="],
        _ => &[],
    };
    list.iter()
        .filter_map(|name| Some((*name, syn::parse_str::<BinOp>(name).ok()?)))
        .collect()
}

impl VisitMut for Rewriter<'_> {
    fn visit_item_const_mut(&mut self, _: &mut syn::ItemConst) {}
    fn visit_item_static_mut(&mut self, _: &mut syn::ItemStatic) {}
    fn visit_impl_item_const_mut(&mut self, _: &mut syn::ImplItemConst) {}
    fn visit_trait_item_const_mut(&mut self, _: &mut syn::TraitItemConst) {}
    fn visit_type_mut(&mut self, _: &mut syn::Type) {}
    fn visit_pat_mut(&mut self, _: &mut syn::Pat) {}
    fn visit_attribute_mut(&mut self, _: &mut syn::Attribute) {}
    fn visit_macro_mut(&mut self, _: &mut syn::Macro) {}
    fn visit_generics_mut(&mut self, _: &mut syn::Generics) {}

    fn visit_expr_repeat_mut(&mut self, node: &mut syn::ExprRepeat) {
        self.visit_expr_mut(&mut node.expr);
    }

    fn visit_item_mod_mut(&mut self, node: &mut syn::ItemMod) {
        let test = node.attrs.iter().any(|attribute| {
            attribute.path().is_ident("cfg") && quote!(#attribute).to_string().contains("test")
        });
        if !test {
            visit_mut::visit_item_mod_mut(self, node);
        }
    }

    fn visit_item_fn_mut(&mut self, node: &mut syn::ItemFn) {
        if node.sig.constness.is_none() {
            self.visit_block_mut(&mut node.block);
            self.early(&mut node.block, &node.sig);
        }
    }

    fn visit_impl_item_fn_mut(&mut self, node: &mut syn::ImplItemFn) {
        if node.sig.constness.is_none() {
            self.visit_block_mut(&mut node.block);
            self.early(&mut node.block, &node.sig);
        }
    }

    fn visit_expr_mut(&mut self, node: &mut Expr) {
        if let Expr::Const(_) = node {
            return;
        }
        visit_mut::visit_expr_mut(self, node);
        let changed = match node {
            Expr::Binary(binary) => self.binary(binary),
            Expr::Unary(unary) => {
                let inner = &unary.expr;
                let op = &unary.op;
                let literal = matches!(**inner, Expr::Lit(_));
                match op {
                    UnOp::Neg(_) if !literal => self
                        .number(op.span(), "- left out".to_owned())
                        .map(|id| parse_quote!((match #inner { mutant_l => { if crate::mutant::is(#id) { mutant_l } else { -mutant_l } } }))),
                    UnOp::Not(_) => self
                        .number(op.span(), "! left out".to_owned())
                        .map(|id| parse_quote!((match #inner { mutant_l => { if crate::mutant::is(#id) { mutant_l } else { !mutant_l } } }))),
                    _ => None,
                }
            }
            Expr::MethodCall(call) => self.swapped_call(call),
            _ => None,
        };
        if let Some(changed) = changed {
            *node = changed;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whats(text: &str) -> Vec<String> {
        let (_, found, _) = rewrite(text, 1, &[]).expect("a source");
        found.into_iter().map(|mutant| mutant.what).collect()
    }

    #[test]
    fn operators_comparisons_and_answers_are_changed_and_constants_left_alone() {
        let text = "const C: i32 = 1 + 2;\nconst fn g(a: i32) -> i32 { a + 1 }\n\
                    fn f(a: i32, b: i32) -> bool { a < b && b > C - 1 }";
        let expected = [
            "< -> >",
            "< -> ==",
            "- -> +",
            "> -> <",
            "> -> ==",
            "&& -> ||",
            "f is true",
            "f is false",
        ];
        assert_eq!(whats(text), expected);
    }

    #[test]
    fn an_error_left_out_keeps_the_numbers_of_the_others() {
        let text = "fn f(a: i32, b: i32) -> i32 { a + b * a }";
        let (_, all, next) = rewrite(text, 5, &[]).expect("a source");
        let (changed, some, same) = rewrite(text, 5, &[5]).expect("a source");
        assert_eq!((all.len(), some.len(), next, same), (2, 1, 7, 7));
        assert!(changed.contains("is(6u32)") && !changed.contains("is(5u32)"));
        assert_eq!((all[0].line, all[0].column), (1, 37));
    }

    #[test]
    fn a_condition_that_binds_names_is_left_alone() {
        assert_eq!(
            whats("fn f(a: Option<i32>) -> i32 { if let Some(b) = a && b != 0 { b } else { 0 } }"),
            ["!= -> =="]
        );
    }
}
