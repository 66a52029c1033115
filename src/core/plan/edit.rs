//! Changes to the text of a plan that keep its comments and its layout.

use crate::core::plan::figure::{Amount, Figure, Limits};
use crate::core::plan::names;
use crate::core::plan::values_list::Known;
use toml_edit::{Array, DocumentMut, Item, TableLike, TomlError, Value};

/// A plan's text while it is being changed.
pub(super) struct PlanEdit {
    document: DocumentMut,
}

impl PlanEdit {
    pub(super) fn read(text: &str) -> Result<Self, TomlError> {
        Ok(Self { document: text.parse()? })
    }

    pub(super) fn text(&self) -> String {
        self.document.to_string()
    }

    /// The joints, in file order.
    pub(super) fn known(&self) -> Vec<Known> {
        let joints = self.document.get("joints").and_then(Item::as_table_like);
        let known = |(name, item): (&str, &Item)| {
            let table = item.as_table_like();
            let get = |key: &str| table.and_then(|table| table.get(key));
            Known {
                name: name.to_owned(),
                title: get("title").and_then(Item::as_str).map(names::tidy),
                sides: get("sides").and_then(Item::as_bool).unwrap_or(false),
            }
        };
        joints.into_iter().flat_map(TableLike::iter).map(known).collect()
    }

    /// Names of joints with a left-hand thread.
    pub(super) fn left_hand(&self) -> Vec<String> {
        let joints = self.document.get("joints").and_then(Item::as_table_like);
        let left = |(name, item): (&str, &Item)| {
            let flag = item.as_table_like().and_then(|table| table.get("left-hand"));
            flag.and_then(Item::as_bool).unwrap_or(false).then(|| name.to_owned())
        };
        joints.into_iter().flat_map(TableLike::iter).filter_map(left).collect()
    }

    /// Sets a key at the top.
    pub(super) fn set_top(&mut self, key: &str, text: &str) {
        put(self.document.as_table_mut(), key, text);
    }

    /// Takes a key at the top away; true if it was there.
    pub(super) fn remove_top(&mut self, key: &str) -> bool {
        self.document.remove(key).is_some()
    }

    /// Sets a joint's target.
    pub(super) fn set_target(&mut self, joint: &str, text: &str, figure: &Figure) {
        let Some(joints) = self.joints() else { return };
        let Some(item) = joints.get_mut(joint) else { return };
        let Some(table) = item.as_table_like_mut() else {
            put(joints, joint, text);
            return;
        };
        put(table, "target", text);
        if matches!(figure, Figure::Amount(Amount { limits, .. }) if *limits != Limits::Unsaid) {
            table.remove("tolerance");
        }
        if let Some(passes) = table.get_mut("passes").and_then(Item::as_array_mut) {
            fit_passes(passes, figure);
        }
    }

    /// Sets how many fasteners a joint has. True if an order for another count was dropped.
    pub(super) fn set_count(&mut self, joint: &str, count: u16) -> bool {
        let Some(item) = self.joints().and_then(|joints| joints.get_mut(joint)) else {
            return false;
        };
        if !item.is_table_like() {
            let target = item.as_str().unwrap_or("?").to_owned();
            let mut table = toml_edit::InlineTable::new();
            table.insert("target", target.into());
            *item = Item::Value(table.into());
        }
        let Some(table) = item.as_table_like_mut() else { return false };
        let key = if table.contains_key("ring") { "ring" } else { "line" };
        let old = table.get(key).and_then(Item::as_integer).unwrap_or(1);
        if old == i64::from(count) {
            return false;
        }
        if count == 1 {
            table.remove(key);
        } else {
            put(table, key, i64::from(count));
        }
        table.remove("order").is_some()
    }

    /// Leaves a joint out. What waited for it waits for what it waited for.
    pub(super) fn leave_out(&mut self, joint: &str) {
        let used = self.asked_holds();
        let Some(joints) = self.joints() else { return };
        let Some(gone) = joints.remove(joint) else { return };
        let before = gone.as_table_like().and_then(|table| table.get("after"));
        let before = before.map(texts).unwrap_or_default();
        let names = [joint.to_owned(), format!("{joint}-left"), format!("{joint}-right")];
        for (_, item) in joints.iter_mut() {
            if let Some(table) = item.as_table_like_mut() {
                replace_after(table, &names, &before);
            }
        }
        let still = self.asked_holds();
        let unused = used.iter().filter(|hold| !still.contains(hold));
        if let Some(holds) = self.document.get_mut("holds").and_then(Item::as_table_like_mut) {
            for hold in unused {
                holds.remove(hold);
            }
            if holds.is_empty() {
                self.document.remove("holds");
            }
        }
    }

    fn joints(&mut self) -> Option<&mut dyn TableLike> {
        self.document.get_mut("joints")?.as_table_like_mut()
    }

    /// The holds that joints, passes and facts as found ask for.
    fn asked_holds(&self) -> Vec<String> {
        let entries = |key: &str| {
            let table = self.document.get(key).and_then(Item::as_table_like);
            let entries = table.into_iter().flat_map(TableLike::iter);
            entries.filter_map(|(_, item)| item.as_table_like())
        };
        let tables = entries("joints").chain(entries("as-found"));
        let mut holds = Vec::new();
        for table in tables {
            holds.extend(table.get("hold").map(texts).unwrap_or_default());
            let passes = table.get("passes").and_then(Item::as_array);
            for pass in passes.into_iter().flatten().filter_map(Value::as_inline_table) {
                holds.extend(pass.get("hold").map(texts_of_value).unwrap_or_default());
            }
        }
        holds
    }
}

/// Puts a value under a key, and keeps the comment behind the old one.
fn put(table: &mut dyn TableLike, key: &str, value: impl Into<Value>) {
    let mut value = value.into();
    if let Some(old) = table.get(key).and_then(Item::as_value) {
        *value.decor_mut() = old.decor().clone();
    }
    match table.get_mut(key) {
        Some(item) => *item = Item::Value(value),
        None => drop(table.insert(key, Item::Value(value))),
    }
}

/// The last tightening pass takes the joint's target; passes that a joint without a figure cannot have go.
fn fit_passes(passes: &mut Array, figure: &Figure) {
    let read = |value: &Value| {
        let text = value.as_str().or_else(|| value.as_inline_table()?.get("target")?.as_str());
        text.and_then(|text| Figure::parse(text).ok())
    };
    let fits = |pass: &Value| {
        !matches!(
            (figure, read(pass)),
            (Figure::None | Figure::ByHand, Some(Figure::Share(_)))
                | (Figure::ByHand, Some(Figure::Check | Figure::Angle(_)))
        )
    };
    if !passes.iter().all(fits) {
        passes.retain(fits);
        passes.fmt();
    }
    let last = (0..passes.len()).rev().find_map(|index| match read(passes.get(index)?)? {
        Figure::Check | Figure::ByHand | Figure::Angle(_) | Figure::BackOff(_) => None,
        figure => Some((index, figure)),
    });
    if let Some((index, Figure::Amount(_) | Figure::LookUp | Figure::None)) = last
        && let Some(pass) = passes.get_mut(index)
    {
        match pass.as_inline_table_mut() {
            Some(table) => put(table, "target", "final"),
            None => {
                let decor = pass.decor().clone();
                *pass = Value::from("final");
                *pass.decor_mut() = decor;
            }
        }
    }
}

fn replace_after(table: &mut dyn TableLike, gone: &[String], instead: &[String]) {
    let after = table.get("after").map(texts).unwrap_or_default();
    if !after.iter().any(|name| gone.contains(name)) {
        return;
    }
    let mut left: Vec<String> = after.into_iter().filter(|name| !gone.contains(name)).collect();
    for name in instead {
        if !left.contains(name) {
            left.push(name.clone());
        }
    }
    match left.as_slice() {
        [] => drop(table.remove("after")),
        [only] => put(table, "after", only.as_str()),
        _ => put(table, "after", left.iter().map(String::as_str).collect::<Array>()),
    }
}

/// One text, or a list of them.
fn texts(item: &Item) -> Vec<String> {
    item.as_value().map(texts_of_value).unwrap_or_default()
}

fn texts_of_value(value: &Value) -> Vec<String> {
    match value.as_array() {
        Some(list) => list.iter().filter_map(Value::as_str).map(str::to_owned).collect(),
        None => value.as_str().map(str::to_owned).into_iter().collect(),
    }
}
